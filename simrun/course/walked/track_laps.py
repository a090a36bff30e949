"""Which part of a recorded way is run more than once, and where does each lap pass a place again?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.walked.track_walk import EVEN_M

Array = NDArray[np.float64]

NEAR_M = 16.0
"""Two laps on the same ground lie no further apart: twice what a watch is wrong by (assumed)."""

ALIKE_COSINE = 0.6
SHORTEST_LAP_M = 250.0
SHORTEST_SHARED_M = 150.0
MOST_HOLE_M = 80.0
"""For so long the laps may lie further apart, and still be the same ground."""

DRIFT = 0.03
"""By this share a lap may be longer on the watch than the one before."""

TAPER_M = 40.0


@dataclass(frozen=True)
class Laps:
    """Ground that is run again, by the numbers of the walk's points.

    first: where it begins; last: where the walk leaves it for good. again (first .. last of the shared
    points): the number, not whole, at which the same place is passed a lap later.
    """

    first: int
    last: int
    again: Array

    def later(self, number: float) -> float:
        """At which number of the walk is this place passed a lap later? nan where it is not."""
        end = self.first + len(self.again) - 1
        if not self.first <= number <= end:
            return float("nan")
        return float(np.interp(number, np.arange(self.first, end + 1), self.again))

    def passes(self, number: float) -> list[float]:
        """At which numbers is this place passed, from the first lap on?"""
        found = [number]
        while np.isfinite(after := self.later(found[-1])):
            found.append(after)
        return found


def laps_of(points: Array) -> Laps | None:
    """Which of these evenly spaced points (P, 2) lie on ground that is run again? None: no lap.

    Formula: of all distances along the way, that at which most points lie near a later one that goes the
    same way. Check: tests/unit/course/test_watch_course.py.
    """
    near = _near(points)
    shortest = int(SHORTEST_LAP_M / EVEN_M)
    if len(points) < 2 * shortest:
        return None
    counts = np.array([_meets(near, lag).sum() for lag in range(shortest, len(points) - 10)])
    if not len(counts) or counts.max() * EVEN_M < SHORTEST_SHARED_M:
        return None
    lag = shortest + int(counts.argmax())
    run = _longest_run(_meets(near, lag))
    if run is None:
        return None
    first, last = run
    again = _again(points, np.arange(first, last + 1), lag)
    return Laps(first, int(again[-1]), again)


def _near(points: Array) -> NDArray[np.bool_]:
    """Does point k lie near point j and go the same way? (P, P)"""
    reach = 4
    ahead = points[np.clip(np.arange(len(points)) + reach, None, len(points) - 1)]
    behind = points[np.clip(np.arange(len(points)) - reach, 0, None)]
    way = ahead - behind
    unit = way / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    return np.asarray((apart < NEAR_M) & (unit @ unit.T > ALIKE_COSINE))


def _meets(near: NDArray[np.bool_], lag: int) -> NDArray[np.bool_]:
    """For every point: is a later one about `lag` further on near? (P - lag,)"""
    drift = max(2, int(DRIFT * lag))
    found = np.zeros(len(near), dtype=bool)
    for step in range(lag - drift, lag + drift + 1, 3):
        if 0 < step < len(near):
            diagonal = near.diagonal(step)
            found[: len(diagonal)] |= diagonal
    return found


def _longest_run(meets: NDArray[np.bool_]) -> tuple[int, int] | None:
    """The first and last number of the longest run, short holes let pass; None where it is too short."""
    from scipy.ndimage import binary_closing, label

    hole = int(MOST_HOLE_M / EVEN_M)
    wide = np.concatenate([np.zeros(hole, bool), meets, np.zeros(hole, bool)])
    closed = binary_closing(wide, np.ones(hole, bool))[hole:-hole]
    runs, count = label(closed)
    if not count:
        return None
    size = np.bincount(runs.ravel())[1:]
    members = np.flatnonzero(runs == 1 + size.argmax())
    return (int(members[0]), int(members[-1])) if size.max() * EVEN_M >= SHORTEST_SHARED_M else None


def _again(points: Array, shared: NDArray[np.int64], lag: int) -> Array:
    """The nearest point a lap later, its lag evened out along the way."""
    from scipy.ndimage import gaussian_filter1d, median_filter

    drift = max(2, int(DRIFT * lag)) + 3
    window = np.arange(lag - drift, lag + drift + 1)
    later = np.clip(shared[:, None] + window[None], 0, len(points) - 1)
    apart = np.hypot(*(points[later] - points[shared][:, None]).transpose(2, 0, 1))
    lags = window[apart.argmin(axis=1)].astype(float)
    even = gaussian_filter1d(median_filter(lags, 21, mode="nearest"), 10.0, mode="nearest")
    return np.asarray(np.clip(np.maximum.accumulate(shared + even), 0, len(points) - 1))


def averaged(points: Array, laps: Laps, sure: Array) -> tuple[Array, Array]:
    """The walk's points, every one the mean of all laps there, and of how many: (P, 2), (P,).

    sure (P,): how much every point counts. At both ends of the shared ground the other laps are let in
    little by little.
    """
    mean, count = points.copy(), np.ones(len(points))
    number = np.arange(len(points), dtype=float)
    visits: dict[int, list[float]] = {}
    for first in range(laps.first, min(len(points), int(laps.again[0]) + 1)):
        passes = laps.passes(float(first))
        for at in passes:
            visits[round(at)] = passes
    edge = laps.first, laps.last
    for at, passes in visits.items():
        here = np.array(
            [[np.interp(p, number, points[:, axis]) for axis in (0, 1)] for p in passes]
        )
        share = np.clip(min(at - edge[0], edge[1] - at) * EVEN_M / TAPER_M, 0, 1)
        weight = np.full(len(passes), share)
        weight[int(np.abs(np.array(passes) - at).argmin())] = 1.0
        weight *= sure[np.rint(passes).astype(int)]
        mean[at] = weight @ here / weight.sum()
        count[at] = weight.sum() ** 2 / (weight**2).sum()
    return _filled(mean, visits), count


def _filled(mean: Array, visits: dict[int, list[float]]) -> Array:
    """Numbers that rounding left out lie between their neighbours."""
    if not visits:
        return mean
    known = np.array(sorted(visits))
    between = np.setdiff1d(np.arange(known[0], known[-1] + 1), known)
    for axis in (0, 1):
        mean[between, axis] = np.interp(between, known, mean[known, axis])
    return mean
