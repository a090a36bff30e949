"""In what order were the straights of a walk passed, lap by lap?"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simrun.course.walked.track_begun import LEAST_BEND_RAD, bend_rad
from simrun.course.walked.track_fit import BOW_RAD
from simrun.course.walked.track_laps import Laps, averaged
from simrun.course.walked.track_straights import Straight, straights_of
from simrun.course.walked.track_walk import EVEN_M, Walk

Array = NDArray[np.float64]

START_M = 120.0
"""So much of the start is one straight: somebody runs it from a box beside the middle (assumed)."""

SAME_WAY_RAD = float(np.deg2rad(18))
"""The straight with which a lap ends goes the way of the one with which it began (assumed: twice what an
error makes of one)."""

LEAVES_M = 25.0
"""A lap begins, and is left, at least so far from a turn."""


@dataclass(frozen=True)
class Visit:
    """Points of the walk passed in a row: their numbers, and which numbers of the first lap they answer
    to.

    lap: how many laps were run before.
    """

    numbers: Array
    as_first: Array
    lap: int = 0


@dataclass(frozen=True)
class Route:
    """Straights up to the end of the first lap, those after the last, and what was passed when.

    lap_from: the number where the lap begins; lap_at, rest_from: as in Plan. rest_start: the number of
    the point with which the rest begins.
    """

    way_m: Array
    straights: list[Straight]
    visits: list[Visit]
    tail_m: Array = field(default_factory=lambda: np.zeros((0, 2)))
    rest: list[Straight] | None = None
    laps: int = 1
    lap_from: int | None = None
    rest_after: int = -1
    """The straight before whose turn the rest begins anew; -1: at the lap's beginning."""


def once(walk: Walk) -> Route:
    numbers = np.arange(len(walk.points_m), dtype=float)
    straights = _straights(walk, walk.points_m, np.ones(len(walk.points_m)))
    return Route(walk.points_m, straights, [Visit(numbers, numbers)])


def lapped(walk: Walk, laps: Laps) -> Route | None:
    """The same with laps; None where the ground that is run again has no straight to begin a lap on."""
    mean, count = averaged(walk.points_m, laps, walk.sure)
    begin = _lap_begin(walk, laps, mean, count)
    if begin is None:
        return None
    passes = laps.passes(float(begin))
    end = round(passes[1])
    straights = _straights(walk, mean[: end + 1], count[: end + 1])
    here = next((k for k, one in enumerate(straights) if one.first < begin < one.last), None)
    if here is None or here == len(straights) - 1:
        return None
    if abs(bend_rad(straights[here], straights[-1])) > SAME_WAY_RAD:
        return None
    left = _as_first(laps, float(laps.last), len(passes) - 1)
    after = [
        k for k in range(here + 1, len(straights)) if straights[k].first + LEAVES_M / EVEN_M < left
    ]
    rest_after = after[-1] if after else -1
    back = straights[rest_after].first if after else begin
    rest_from = min(round(_as_later(laps, float(back), len(passes) - 1)), len(walk.points_m) - 6)
    tail = walk.points_m[rest_from:]
    rest = _without_slight(straights_of(tail, np.ones(len(tail)), walk.wander_m2_m * EVEN_M))
    return Route(
        mean[: end + 1],
        straights,
        _visits(walk, laps, passes, rest_from),
        tail,
        rest,
        len(passes) - 1,
        begin,
        rest_after,
    )


def _lap_begin(walk: Walk, laps: Laps, mean: Array, count: Array) -> int | None:
    """The middle of the first straight that is long enough, on ground that is run again."""
    upto = int(laps.again[0]) + 1
    low, high = laps.first + LEAVES_M / EVEN_M, laps.first + len(laps.again) - 1 - LEAVES_M / EVEN_M
    found = []
    for one in _straights(walk, mean[:upto], count[:upto]):
        first, last = max(one.first, low, START_M / EVEN_M), min(one.last, high)
        found.append((last - first, int((first + last) / 2)))
    long = [pair for pair in found if pair[0] * EVEN_M >= 2 * LEAVES_M]
    size, middle = long[0] if long else max(found)
    return middle if size * EVEN_M >= LEAVES_M else None


def _as_first(laps: Laps, number: float, times: int) -> float:
    """Which number of the first lap is this place of a later one?"""
    firsts = np.arange(laps.first, laps.first + len(laps.again))
    for _ in range(times):
        number = float(np.interp(number, laps.again, firsts))
    return number


def _as_later(laps: Laps, number: float, times: int) -> float:
    firsts = np.arange(laps.first, laps.first + len(laps.again))
    for _ in range(times):
        number = float(np.interp(number, firsts, laps.again))
    return number


def _visits(walk: Walk, laps: Laps, passes: list[float], rest_from: int) -> list[Visit]:
    """Every lap, the piece of one before the rest, and the rest."""
    first = np.arange(0.0, round(passes[1]) + 1)
    found = [Visit(first, first)]
    ends = [*passes[2:], float(rest_from)]
    for lap, (begin, end) in enumerate(zip(passes[1:], ends, strict=True), start=1):
        numbers = np.arange(round(begin), round(end) + 1, dtype=float)
        if len(numbers) > 1:
            as_first = np.array([_as_first(laps, number, lap) for number in numbers])
            found.append(Visit(numbers, as_first, lap))
    rest = np.arange(rest_from, len(walk.points_m), dtype=float)
    return [*found, Visit(rest, rest - rest_from, len(passes) - 1)]


def _straights(walk: Walk, points: Array, weight: Array) -> list[Straight]:
    found = straights_of(points, weight, walk.wander_m2_m * EVEN_M)
    return _without_slight(_one_start(found))


def _one_start(straights: list[Straight]) -> list[Straight]:
    """The start is one straight: what bends a little within it goes the way of what follows."""
    while len(straights) > 1 and straights[0].last * EVEN_M < START_M:
        if abs(bend_rad(straights[0], straights[1])) > BOW_RAD:
            break
        second = straights[1]
        straights = [replace(second, first=straights[0].first), *straights[2:]]
    return straights


def _without_slight(straights: list[Straight]) -> list[Straight]:
    """Straights that hardly differ become one, the most alike first."""
    while len(straights) > 1:
        bends = [abs(bend_rad(*pair)) for pair in pairwise(straights)]
        k = int(np.argmin(bends))
        if bends[k] >= LEAST_BEND_RAD:
            break
        one, other = straights[k : k + 2]
        sizes = np.array([one.last - one.first, other.last - other.first], dtype=float)
        step = (sizes[0] * one.step_m + sizes[1] * other.step_m) / sizes.sum()
        straights[k : k + 2] = [
            replace(one, last=other.last, step_m=step, middle_m=(one.middle_m + other.middle_m) / 2)
        ]
    return straights
