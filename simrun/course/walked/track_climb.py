"""How does a course go up and down, where a watch's height wanders by metres?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simrun.course.walked.track_course import WatchCourse

Array = NDArray[np.float64]

GRID_M = 10.0
OVER_M = 40.0
"""Heights are smoothed over a bell of this standard deviation along the way (assumed)."""

LEAST_CLIMB_M = 3.0
"""Ups and downs that are smaller are the watch's (assumed: what its height wanders by on one course)."""

STRAIGHT_WITHIN_M = 1.5
"""A slope is one piece as long as its middle lies no further off the even way up (assumed)."""


@dataclass(frozen=True)
class Profile:
    """Heights of a course along its middle: of the chain up to the lap's end, and of the rest, each from
    0 on."""

    along_m: Array
    height_m: Array
    rest_along_m: Array
    rest_height_m: Array

    def height(self, along_m: float, rest: bool = False) -> float:
        """The height there."""
        if rest:
            return float(np.interp(along_m, self.rest_along_m, self.rest_height_m))
        return float(np.interp(along_m, self.along_m, self.height_m))

    def climb_m(self, course: WatchCourse) -> float:
        """How many metres go up in the whole race, all laps counted?"""
        total = self._up(0.0, course.chain.length_m)
        if course.lap_at is not None:
            begin = float(course.chain.begins_m[course.lap_at])
            total += (course.laps - 1) * self._up(begin, course.chain.length_m)
            if course.rest_from >= 0:
                total += self._up(begin, course.rest_begins_m)
        return total + float(np.clip(np.diff(self.rest_height_m), 0, None).sum())

    def _up(self, from_m: float, to_m: float) -> float:
        at = np.arange(from_m, to_m, 1.0)
        return float(np.clip(np.diff(np.interp(at, self.along_m, self.height_m)), 0, None).sum())

    def cuts_m(self, from_m: float, to_m: float, rest: bool = False) -> list[float]:
        """Where a straight from here to there is to be parted so that every part is one slope."""
        grid = self.rest_along_m if rest else self.along_m
        inner = grid[(grid > from_m + GRID_M) & (grid < to_m - GRID_M)]
        if not len(inner):
            return []
        low, high = self.height(from_m, rest), self.height(to_m, rest)
        even = np.interp(inner, [from_m, to_m], [low, high])
        off = np.abs(np.array([self.height(at, rest) for at in inner]) - even)
        if off.max() <= STRAIGHT_WITHIN_M:
            return []
        middle = float(inner[off.argmax()])
        return [*self.cuts_m(from_m, middle, rest), middle, *self.cuts_m(middle, to_m, rest)]


def profile_of(course: WatchCourse, height_m: Array) -> Profile:
    """The heights of this course, the mean of all laps; a lap comes back to its height. nan: flat.

    Formula: from one summit or hollow that stands out to the next, the line that only goes up, or only
    down, that fits best. Check: tests/unit/course/test_watch_course.py.
    """
    chain_m, rest_m = course.chain.length_m, course.rest.length_m if course.rest else 0.0
    grid = _grid(chain_m)
    rest_grid = _grid(rest_m)
    if not np.isfinite(height_m).all():
        return Profile(grid, np.zeros(len(grid)), rest_grid, np.zeros(len(rest_grid)))
    is_rest, place = course.places_m
    whole = _means(grid, place[~is_rest], height_m[~is_rest])
    if course.lap_at is not None:
        begin = course.chain.begins_m[course.lap_at]
        share = np.clip((grid - begin) / (chain_m - begin), 0, 1)
        whole = whole - share * (whole[-1] - np.interp(begin, grid, whole))
    rest = np.zeros(len(rest_grid))
    if rest_m:
        rest = _means(rest_grid, place[is_rest], height_m[is_rest])
        rest += float(np.interp(course.rest_begins_m, grid, whole)) - rest[0]
    joined = _plain(np.concatenate([whole, rest]))
    plain, after = joined[: len(grid)], joined[len(grid) :]
    if course.lap_at is not None:
        begin = float(np.interp(course.chain.begins_m[course.lap_at], grid, plain))
        plain[-1] = begin
    if rest_m:
        after[0] = np.interp(course.rest_begins_m, grid, plain)
    return Profile(grid, plain, rest_grid, after)


def _grid(length_m: float) -> Array:
    return np.linspace(0.0, length_m, max(2, round(length_m / GRID_M) + 1))


def _means(grid: Array, place: Array, height: Array) -> Array:
    """The smoothed mean height at every point of the grid."""
    from scipy.ndimage import gaussian_filter1d

    number = np.clip(np.rint(place / grid[1]).astype(int), 0, len(grid) - 1)
    count = np.bincount(number, minlength=len(grid))
    total = np.bincount(number, weights=height, minlength=len(grid))
    known = count > 0
    if not known.any():
        return np.zeros(len(grid))
    mean = np.interp(grid, grid[known], total[known] / count[known])
    return np.asarray(gaussian_filter1d(mean, OVER_M / grid[1], mode="nearest"))


def _plain(height: Array) -> Array:
    """The same heights without the ups and downs that are too small to be told from a watch's error."""
    from scipy.optimize import isotonic_regression

    plain = height.copy()
    turns = _summits(height)
    for first, last in pairwise(turns):
        rises = height[last] >= height[first]
        fit = isotonic_regression(height[first : last + 1], increasing=bool(rises))
        plain[first : last + 1] = fit.x
    if (
        len(turns) == 2
        and abs(height[-1] - height[0]) < LEAST_CLIMB_M
        and np.ptp(height) < LEAST_CLIMB_M
    ):
        plain[:] = height.mean()
    return plain


def _summits(height: Array) -> list[int]:
    """Both ends, and the summits and hollows between that stand out, in their order."""
    found, high, low, going = [0], 0, 0, 0
    for k in range(len(height)):
        high = k if height[k] > height[high] else high
        low = k if height[k] < height[low] else low
        if going >= 0 and height[high] - height[k] > LEAST_CLIMB_M:
            found.append(high)
            going, low = -1, k
            high = k
        elif going <= 0 and height[k] - height[low] > LEAST_CLIMB_M:
            found.append(low)
            going, high = 1, k
            low = k
    return sorted({*found, len(height) - 1})
