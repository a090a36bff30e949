"""If somebody is down at this point for so many seconds: who is held up, and for how long?

The same people, reactions and chances once with and once without, seed by seed. It answers what a stop
does to the others; it says nothing about whether anybody falls.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from simrun.answers.disturb.held_up import Held
from simrun.answers.disturb.result import DisturbResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of, run_seeds
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder
from simrun.engine.down import Down, run_nudged, run_with
from simrun.engine.run import field_of
from simrun.scenario.changes.changes_course import with_checkpoints
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import points_of

Array = NDArray[np.float64]

BEYOND_M = 30.0

SIDES = {"left": 0.15, "middle": 0.5, "right": 0.85}


def answer(asked: Asked, progress: Progress) -> list[DisturbResult]:
    """What `simrun disturb` does."""
    scenario = day_of(asked)
    since = math.nan if asked.since is None else asked.since
    down = Down(asked.at, SIDES[asked.across], since, asked.lasts)
    seeds, folder = run_seeds(asked), folder_of(asked)
    how = {"units": asked.units, "drawn": drawn_of(asked)}
    return [run_disturb(scenario, folder, down, seeds, progress, **how)]


def run_disturb(
    scenario: Scenario,
    folder: str | Path,
    down: Down,
    seeds: tuple[int, ...] = tuple(range(1, 11)),
    progress: Progress | None = None,
    *,
    units: str | None = None,
    drawn: bool = True,
) -> DisturbResult:
    """If somebody is down, who is held up, and for how long? Every seed with and without; see `disturb`.

    drawn: inputs that nobody has measured are drawn with the seed. Raises BadInput, CannotWrite.
    """
    where, day = ready_folder(folder), with_inputs_as(scenario, drawn)
    held = disturb(day, down, seeds, progress)
    return DisturbResult(day, held, where, units or day.units)


def disturb(
    scenario: Scenario,
    down: Down,
    seeds: tuple[int, ...],
    progress: Progress | None = None,
) -> Held:
    """Run every seed with and without, and with everybody nudged instead.

    down.from_s nan: when half of the field has passed the point.
    Raises BadInput where the point is not on the course. Check: tests/validation/test_disturbance.py.
    """
    day = _short_day(scenario, down)
    passed, delays, placebos, begun = [], [], [], []
    for number, seed in enumerate(seeds):
        plain = field_of(day, seed, frames=False).run().tape.crossing_s
        since = _since(down, plain)
        stop = replace(down, from_s=since)
        late = run_with(field_of(day, seed, frames=False), stop).tape.crossing_s
        nudged = run_nudged(field_of(day, seed, frames=False), since, seed).tape.crossing_s
        passed.append(plain[:, 0])
        delays.append(late[:, -1] - plain[:, -1])
        placebos.append(nudged[:, -1] - plain[:, -1])
        begun.append(since)
        if progress:
            progress((number + 1) / len(seeds))
    points = points_of(day, seeds)
    each = (np.stack(passed), np.stack(delays), np.array(begun), np.stack(placebos))
    return Held(down, *each, points)


def _since(down: Down, crossing_s: Array) -> float:
    if down.from_s == down.from_s:
        return down.from_s
    return float(np.nanmedian(crossing_s[:, 0]))


def _short_day(scenario: Scenario, down: Down) -> Scenario:
    """The race to a little beyond the point, with checkpoints at it and behind it."""
    length = scenario.strip.length_m
    if not 1.0 <= down.at_m <= length - 1.0:
        found = f"{down.at_m:g} m"
        allowed = f"from 1 to {length - 1:.0f} m along the measured line"
        raise BadInput(Problem("at", found, allowed, "", scenario.file))
    if not 0.0 <= down.share <= 1.0:
        raise BadInput(Problem("across", f"{down.share:g}", "from 0 (left edge) to 1 (right edge)"))
    if not 0.0 < down.for_s <= 600.0:
        raise BadInput(Problem("for", f"{down.for_s:g} s", "more than 0 and up to 600 s"))
    behind_m = min(length, down.at_m + BEYOND_M)
    return with_checkpoints(scenario, [("the point", down.at_m), ("behind the point", behind_m)])
