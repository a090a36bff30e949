"""Where is it 1000, 400, 200 and 100 m to go, and how many places does a kick from there win?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simrun.answers.chase.back_ranges import kick_ranges
from simrun.answers.chase.words import records_of
from simrun.answers.sheet.sheet_marks import SheetMark
from simrun.answers.whole.preview.chapters import Chapter
from simrun.engine.set_back import BY_PLAN, FOR_PLACES
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out
from simrun.trials.how_sure import points_of
from simrun.trials.run_back import kick_table, run_back_plan, timed

TO_GO_M = (1000.0, 400.0, 200.0, 100.0)
IN_HAND_M = 20.0
"""Our team keeps so many metres in hand, as the first answer of `simrun chase` does."""

OWN_WITHIN_M = 60.0
"""A landmark or a place of the coach so near tells the spot rather than anything else that is nearer."""

SHOWN_M = 50.0
"""A race that is no longer than that has no such mark."""

STORE = "preview_races.db"


@dataclass(frozen=True)
class ToGo:
    """One distance to go: where it is, told by the nearest place; what a kick wins from there.

    kick, plan: a row of `kick_ranges` each, racing for places and by plan; empty where the start is not
    over by then.
    """

    far_m: float
    mark: SheetMark
    kick: dict[str, Any]
    plan: dict[str, Any]


def to_go_of(
    day: Scenario,
    team: str,
    seeds: Sequence[int],
    folder: Path,
    chapters: Sequence[Chapter],
    **how: Any,
) -> tuple[ToGo, ...]:
    """Every distance to go there is. how: as of `carry_out`; the races are kept in the folder.

    Check: tests/journeys/test_preview.py.
    """
    there, marks = timed(day, TO_GO_M)
    run = tuple(sorted(seeds))
    plan = run_back_plan(there, team, (), (IN_HAND_M,), run)
    store = carry_out(plan, folder / STORE, **how)
    kick = kick_table(plan, store, marks, (IN_HAND_M,))
    rows = records_of(kick_ranges(kick, points_of(day, run))) if len(kick) else []
    by = {(row["way"], row["to_go_m"]): row for row in rows}
    length_m = day.strip.length_m
    return tuple(
        ToGo(
            far,
            spot_of(day, length_m - far, chapters),
            by.get((FOR_PLACES, far), {}),
            by.get((BY_PLAN, far), {}),
        )
        for far in TO_GO_M
        if far < length_m - SHOWN_M
    )


def spot_of(day: Scenario, at_m: float, chapters: Sequence[Chapter]) -> SheetMark:
    """A place told by the coach's own: the nearest landmark or place within OWN_WITHIN_M, else anything."""
    strip = day.strip
    own = {mark.name: mark.station_m for mark in strip.landmarks}
    own |= {c.place.name or c.mark.name: c.mark.at_m for c in chapters if c.place}
    every = {gate.name: float(strip.station_m[gate.first_cut]) for gate in strip.gates}
    every |= {mark.name: mark.station_m for mark in strip.checkpoints}
    name, near = min(own.items(), key=lambda each: abs(each[1] - at_m), default=("", -1e9))
    if abs(near - at_m) > OWN_WITHIN_M:
        name, near = min((every | own).items(), key=lambda each: abs(each[1] - at_m))
    return SheetMark(name, at_m, "to go", at_m - near)
