"""Which days are run for the handbook? A space-filling sample of figures, those that cannot be drawn again."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from simrun.trials.handbook.sampled_day import BEHIND_TURN_M, LAST_MARK_M, STARTS, SampledDay

RANGES: dict[str, tuple[float, float]] = {
    "width_m": (20.0, 120.0),
    "box_m": (1.4, 4.0),
    "runners": (3.0, 9.0),
    "straight_m": (60.0, 700.0),
    "throat_m": (3.0, 25.0),
    "turn_after_m": (15.0, 300.0),
    "turn_deg": (30.0, 150.0),
    "turn_share": (0.6, 1.4),
    "radius_m": (2.0, 20.0),
    "mean_s": (960.0, 1320.0),
    "spread_s": (20.0, 90.0),
}
"""What is sampled, from and to; lengths evenly by their logarithm. turn_share: of the throat's width."""

AXES = (*RANGES, "abreast", "offset", "turns_right", "post", "start")
POSTS = 1 / 3
"""So many of the turns are round a post."""

EVENLY = ("turn_deg", "turn_share", "mean_s", "spread_s", "runners")
BODY_M = 0.62
"""Least room abreast for one runner on the line."""
MOST_ABREAST, MOST_ROWS, MOST_FIELD = 4, 5, 260
MOST_THROAT = 0.8
"""A throat no wider than this share of the line: else there is none."""
LAST_TURN_M = LAST_MARK_M - 60.0


def days(count: int, seed: int) -> list[SampledDay]:
    """The first `count` days of the sample of this seed that can be.

    Scrambled Sobol points of scipy: any first part of the sequence fills the space evenly, so that a sample
    may be made longer. Check: tests/unit/trials/test_handbook.py.
    """
    found: list[SampledDay] = []
    for point in _points(seed):
        day = day_at(point)
        if day is not None:
            found.append(day)
        if len(found) == count:
            break
    return found


def _points(seed: int) -> Iterator[NDArray[np.float64]]:
    source = qmc.Sobol(len(AXES), rng=seed)
    while True:
        yield from source.random(256)


def day_at(point: NDArray[np.float64]) -> SampledDay | None:
    """The day at a point of the unit cube, or None where it cannot be."""
    unit = dict(zip(AXES, point.tolist(), strict=True))
    at = {name: _between(name, unit[name]) for name in RANGES}
    boxes = round(at["width_m"] / at["box_m"])
    box_m, runners = at["width_m"] / boxes, round(at["runners"])
    room = min(MOST_ABREAST, math.floor(box_m / BODY_M), runners)
    abreast = 1 + min(room - 1, int(unit["abreast"] * room))
    throat_m = at["throat_m"]
    offset_m = (2 * unit["offset"] - 1) * (at["width_m"] - throat_m) / 2
    day = SampledDay(
        width_m=at["width_m"],
        boxes=boxes,
        runners=runners,
        abreast=abreast,
        straight_m=at["straight_m"],
        throat_m=throat_m,
        offset_m=offset_m,
        turn_after_m=at["turn_after_m"],
        turn_deg=math.copysign(at["turn_deg"], unit["turns_right"] - 0.5),
        turn_m=throat_m * at["turn_share"],
        radius_m=0.0 if unit["post"] < POSTS else at["radius_m"],
        mean_s=at["mean_s"],
        spread_s=at["spread_s"],
        start=STARTS[min(2, int(3 * unit["start"]))],
    )
    return day if can_be(day) else None


def can_be(day: SampledDay) -> bool:
    """Is there such a day? A throat narrower than the line, not too many rows, the turn before the last mark."""
    return (
        day.throat_m <= MOST_THROAT * day.width_m
        and day.boxes >= 4
        and -(-day.runners // day.abreast) <= MOST_ROWS
        and day.boxes * day.runners <= MOST_FIELD
        and day.turn_ends_m + BEHIND_TURN_M <= LAST_TURN_M
    )


def _between(name: str, unit: float) -> float:
    low, high = RANGES[name]
    if name in EVENLY:
        return low + unit * (high - low)
    return low * (high / low) ** unit
