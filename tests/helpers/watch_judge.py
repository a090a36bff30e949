"""What becomes of generated watch tracks: does a scenario come through, how long is it, are its turns
right?

    python -m tests.helpers.watch_judge > tests/validation/watch_tracks.csv

The seeds from FIRST on were looked at only to be judged, once, after the last change of the fit. It was
made on seeds from 5000 on; those below FIRST were judged before its last changes and are left out.
"""

from __future__ import annotations

import csv
import sys
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from simrun.answers.course.new_course import AskedCourse, NewCourse, new_course
from simrun.answers.course.questions import LINE, Told
from simrun.base.errors import BadInput
from simrun.engine.run import field_of
from simrun.measure.wheel import measure_ground
from simrun.scenario.scenario import Scenario
from tests.helpers.watch_tracks import Walk, walk_of

FIRST, TRACKS = 601, 200
TURN_DEG, WITHIN_M = 30.0, 40.0


@dataclass(frozen=True)
class Judged:
    """One track: what was true of it, and what was made of it."""

    seed: int
    laps: int
    hairpin: int
    line_m: float
    error_m: float
    wander_s: float
    true_m: float
    true_turns: int
    true_climb_m: float
    came_through: int
    length_m: float
    off_percent: float
    turns: int
    turns_right: int
    climb_m: float


def judged(walk: Walk, folder: Path) -> Judged:
    """Make a scenario of the track as the command does, check it, and build its race."""
    (folder / "track.gpx").write_text(walk.gpx, encoding="utf-8")
    asked = AskedCourse(told=Told({LINE: walk.line_m}, {}))
    found, length, turns, climb = 0, float("nan"), (), float("nan")
    try:
        made = new_course(folder / "track.gpx", folder / "out", asked)
        measure_ground(made.scenario)
        field_of(made.scenario, 1).advance(1)
        length, turns, climb = middle_m(made), turns_of(made.scenario), climbed_m(made.scenario)
        found = 1
    except BadInput as refused:
        print(f"seed {walk.seed}: {refused}", file=sys.stderr)
    true = turns_along(walk.path_m)
    return Judged(
        walk.seed,
        walk.laps,
        int(walk.hairpin),
        round(walk.line_m, 1),
        round(walk.error_m, 2),
        round(walk.wander_s, 1),
        round(walk.length_m, 1),
        len(true),
        round(walk.climb_m, 1),
        found,
        round(length, 1),
        round(100 * (length / walk.length_m - 1), 2),
        len(turns),
        int(turns == true),
        round(climb, 1),
    )


def middle_path_m(scenario: Scenario) -> np.ndarray:
    """The middle of the course that the engine runs, start to finish, (K, 2)."""
    strip = scenario.strip
    first = int(np.abs(strip.station_m).argmin())
    return strip.middle_m[first : strip.finish_cut + 1]


def middle_m(made: NewCourse) -> float:
    """How long is that middle?"""
    return float(np.hypot(*np.diff(middle_path_m(made.scenario), axis=0).T).sum())


def climbed_m(scenario: Scenario) -> float:
    """How many metres go up on the course that the engine runs?"""
    strip = scenario.strip
    first = int(np.abs(strip.station_m).argmin())
    return float(np.clip(np.diff(strip.height_m[first : strip.finish_cut + 1]), 0, None).sum())


def turns_of(scenario: Scenario) -> tuple[int, ...]:
    """The turns of the course that the engine runs, as `turns_along` counts them."""
    return turns_along(middle_path_m(scenario))


def turns_along(path_m: np.ndarray) -> tuple[int, ...]:
    """The turns of a path in its order, 1 to the left, -1 to the right.

    A turn is a place where the way ahead changes by more than TURN_DEG within WITHIN_M; true and made
    courses are counted by this one rule, which knows nothing of pieces.
    """
    step = np.hypot(*np.diff(path_m, axis=0).T)
    path_m = path_m[np.append(True, step > 1e-6)]
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(path_m, axis=0).T)))
    even = np.arange(0.0, along[-1], 1.0)
    x, y = (np.interp(even, along, path_m[:, axis]) for axis in (0, 1))
    heading = np.unwrap(np.arctan2(np.diff(y), np.diff(x)))
    half = int(WITHIN_M / 2)
    change = np.rad2deg(heading[2 * half :] - heading[: -2 * half])
    found: list[int] = []
    before = 0
    for value in change:
        side = int(np.sign(value)) if abs(value) > TURN_DEG else 0
        if side and side != before:
            found.append(side)
        before = side
    return tuple(found)


def main() -> None:
    """Judge them all, a row each; the table goes to standard output."""
    writer = None
    for seed in range(FIRST, FIRST + TRACKS):
        with tempfile.TemporaryDirectory() as folder:
            row = asdict(judged(walk_of(seed), Path(folder)))
        writer = writer or csv.DictWriter(sys.stdout, list(row), lineterminator="\n")
        if seed == FIRST:
            writer.writeheader()
        writer.writerow(row)
        sys.stdout.flush()


if __name__ == "__main__":
    main()
