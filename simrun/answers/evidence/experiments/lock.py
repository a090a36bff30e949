"""Does anybody lock for ever? Tight turns, gaps and throats, many seeds each, and how many races never end.

Check: tests/validation/test_no_lock.py, which is also the command for the whole table.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simrun.answers.evidence.experiments.arena import (
    Array,
    Crowd,
    block_m,
    crowd_race,
    gap,
    ground,
    side_by_side,
    straight,
)
from simrun.scenario.scenario import Scenario

ANGLES = (90, 135, 180)
INSIDE_RADII_M = (0.0, 0.5, 1.0, 2.0)
TURN_WIDTHS_M = (0.8, 1.0, 1.2, 1.5, 2.0, 3.0, 4.0)
COUNTS = (14, 56)
GAP_WIDTHS_M = (0.8, 1.0, 1.2, 1.5, 2.0)
WALKER_WIDTHS_M = (0.9, 1.0, 1.2, 1.6, 2.0, 2.4)
LIMIT_S = 240.0
ROOM_M = 4.0


@dataclass(frozen=True)
class Place:
    """One place to get through: "turn", "gap" or "throat"; its width, the turn's angle and inside radius, how
    many go through, and of which kind they are."""

    kind: str
    width_m: float
    count: int
    crowd: str = "runner"
    angle_deg: int = 0
    inside_m: float = 0.0

    def __str__(self) -> str:
        where = f"{self.kind} of {self.width_m:g} m"
        if self.kind == "turn":
            where += f", {self.angle_deg} degrees, inside radius {self.inside_m:g} m"
        return f"{where}, {self.count} {self.crowd}s"


def places() -> Iterator[Place]:
    """Every place of the table."""
    for angle in ANGLES:
        for inside in INSIDE_RADII_M:
            for width in TURN_WIDTHS_M:
                for count in COUNTS:
                    yield Place("turn", width, count, angle_deg=angle, inside_m=inside)
    for width in GAP_WIDTHS_M:
        yield from (Place("gap", width, count) for count in COUNTS)
    yield from (Place("throat", width, 150, crowd="walker") for width in WALKER_WIDTHS_M)


def locked(place: Place, crowd: Crowd, seed: int) -> int:
    """How many of this crowd never get through? The limit is some ten times what a queue would take."""
    wide = 6.0 if place.kind == "throat" else ROOM_M
    long_m = place.count / (1.5 * wide)
    scenario = _ground_of(place, wide, long_m + 2.0)
    stand = block_m(1.5, long_m, wide - 0.6, np.random.default_rng(seed))[: place.count]
    race = crowd_race(scenario, crowd, stand + np.array([1.0, 0.0])).run()
    return int(np.isnan(race.tape.crossing_s[:, 0]).sum())


def _ground_of(place: Place, wide_m: float, room_m: float) -> Scenario:
    """A room, a funnel to the place's own width, the place, and ground that does not run over its own way."""
    before: list[dict[str, Any]] = [straight(room_m, wide_m)]
    if place.kind != "turn":
        pieces = [*before, gap(1.0, place.width_m), straight(20.0, wide_m)]
        return ground(pieces, [room_m + 3.0], LIMIT_S)
    walls = {"left": "barrier", "right": "barrier", "surface": "road"}
    funnel = {"piece": "narrowing", "length": 6.0, "width": place.width_m, **walls}
    turn = {"piece": "turn", "side": "left", "angle": place.angle_deg}
    turn |= {"inside_radius": place.inside_m, **walls}
    # The way back stays beside the straight, which is as narrow as itself, and ends before the funnel.
    pieces = [*before, funnel, straight(14.0, place.width_m), turn, straight(12.0, place.width_m)]
    arc_m = np.deg2rad(place.angle_deg) * (place.inside_m + min(0.3, place.width_m / 2))
    end_m = float(room_m + 6.0 + 14.0 + arc_m + 8.0)
    return ground(pieces, [end_m], LIMIT_S)


def lock_rates(crowds: dict[str, Crowd], which: Sequence[Place], seeds: Sequence[int]) -> Array:
    """In which share of the seeds does somebody never get through? (P,)"""
    cases = [(place, seed) for place in which for seed in seeds]
    found = side_by_side(lambda case: locked(case[0], crowds[case[0].crowd], case[1]) > 0, cases)
    return np.array(found, dtype=float).reshape(len(which), len(seeds)).mean(axis=1)
