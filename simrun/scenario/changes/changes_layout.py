"""Named changes of the line and the ground that a director can move: copies of a race day, checked anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from simrun.scenario.assemble import seats_of
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.box_sheet import seated


@dataclass(frozen=True)
class LayoutChange:
    """What is to be otherwise; None and an empty mapping stay as they are.

    boxes: on the line; teams: how many run, which brings as many boxes. aim_m: an arc's, where there is one.
    piece_length_m, piece_width_m: by the piece's number from 1. times_s: mean and spread of the field's 5 km
    times. frame_s: how often a frame is kept.
    """

    width_m: float | None = None
    boxes: int | None = None
    box_width_m: float | None = None
    front_row: int | None = None
    waves: int | None = None
    wave_gap_s: float | None = None
    aim_m: float | None = None
    tilt_deg: float | None = None
    sideways_m: float | None = None
    piece_length_m: Mapping[int, float] = field(default_factory=dict)
    piece_width_m: Mapping[int, float] = field(default_factory=dict)
    teams: int | None = None
    times_s: tuple[float | None, float] | None = None
    frame_s: float | None = None


def with_layout(scenario: Scenario, change: LayoutChange) -> Scenario:
    """The race day with another layout of its start. Raises BadInput where it does not fit."""
    changes: dict[str, Any] = {
        "start.width": change.width_m,
        "start.boxes": change.boxes,
        "start.box_width": change.box_width_m,
        "start.front_row": change.front_row,
        "start.waves": change.waves,
        "start.wave_gap": change.wave_gap_s,
        "start.aim": change.aim_m,
        "start.tilt": change.tilt_deg,
        "start.sideways": change.sideways_m,
        "clock.frame_s": change.frame_s,
    }
    changes = {key: value for key, value in changes.items() if value is not None}
    changes |= {f"course.pieces.{n}.length": m for n, m in change.piece_length_m.items()}
    changes |= {f"course.pieces.{n}.width": m for n, m in change.piece_width_m.items()}
    if change.teams is not None:
        changes |= _so_many_teams(scenario, change.teams)
    if change.times_s is not None:
        mean_s, spread_s = change.times_s
        changes |= {"field.ability": "normal", "field.time": mean_s, "field.spread": spread_s}
    return scenario.changed(changes)


def with_straight_line(scenario: Scenario) -> Scenario:
    """The race day with a straight start line."""
    aim = {"start.aim": None} if "aim" in scenario.document["start"] else {}
    return scenario.changed({"start.shape": "straight", **aim})


def with_arc(scenario: Scenario, aim_m: float, tilt_deg: float | None = None) -> Scenario:
    """The race day with its line on an arc about a point so far ahead of its middle; tilt None: as it is."""
    tilt = {} if tilt_deg is None else {"start.tilt": tilt_deg}
    return scenario.changed({"start.shape": "arc", "start.aim": aim_m, **tilt})


def _so_many_teams(scenario: Scenario, count: int) -> dict[str, Any]:
    """So many teams: those on paper stay, ours first; each keeps its place along the line.

    The box sheet is of a line with other boxes: what it said is written down, and it goes.
    """
    start = scenario.start
    known = seated(scenario.document, seats_of(scenario.document, scenario.attachments)[0])
    kept = sorted(known["teams"], key=lambda team: not team.get("ours", False))[:count]
    taken: set[int] = set()
    for team in kept:
        if team.get("box"):
            team["box"] = _free_box(1 + (team["box"] - 1) * count // start.boxes, count, taken)
            taken.add(team["box"])
    changes: dict[str, Any] = {"teams": kept} if kept else {}
    changes |= {"field.fill": True, "start.boxes": count}
    changes |= {"field.teams": None} if scenario.field.teams is not None else {}
    gone = [key for key in ("empty", "box_sheet") if key in scenario.document["start"]]
    return changes | {f"start.{key}": None for key in gone}


def _free_box(wanted: int, count: int, taken: set[int]) -> int:
    free = [box for box in range(1, count + 1) if box not in taken]
    return min(free, key=lambda box: abs(box - wanted))
