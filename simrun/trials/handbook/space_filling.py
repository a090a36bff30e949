"""Which days are run for the handbook? A space-filling sample, those that cannot be left out."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from simrun.trials.handbook.sampled_day import (
    AXES,
    BODY_M,
    MOST_ABREAST,
    POSTS,
    RANGES,
    STARTS,
    SampledDay,
    between,
    can_be,
    most_spread_s,
)


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
    at = {name: between(name, unit[name]) for name in RANGES}
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
        spread_s=min(at["spread_s"], most_spread_s(at["mean_s"])),
        start=STARTS[min(2, int(3 * unit["start"]))],
    )
    return day if can_be(day) else None
