"""Where would the same runners have been, moment by moment, with nobody near? A few bytes a runner."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.compiled import compiled

Array = NDArray[np.float64]
Whole = NDArray[np.int32]

WAYS = ("own", "shortest", "best", "raced")
"""The ways of running alone: own box and own line, own box and shortest line, the reference box and the
shortest line; and own box and own line, wishing for what was wished in the race because of the others."""

CHAIN = (2, 1, 0, 3)
"""In this order the ways are straightened and kept, each as what it is later than the one before."""

NOT_REACHED = -1
FINE_M, NEAR_M, FAR_M = 0.1, 0.5, 5.0
FINE_FOR_M, NEAR_FOR_M = 2.0, 30.0
TINY_M = 1e-6
MILLIMETRES = 1000.0

WITHIN_MS = 5
"""A track may be so far from what was noted: with straight lines within it most notes say nothing new."""

STEEPEST_MS = 2**40
"""No line between two notes is as steep."""


@dataclass(frozen=True)
class Tracks:
    """The alone-runs of N runners by place: four ways (WAYS), M places along the measured line.

    at_m (M,): metres along it, whole millimetres. start_m, leaves_s (4, N): where each stood, and when
    each began to move.
    reached_ms (4, N, M): when each place was reached, whole milliseconds since the gun, NOT_REACHED where
    not within the limit; before their own start the moment of leaving it.
    """

    at_m: Array
    start_m: Array
    leaves_s: Array
    reached_ms: Whole

    def __len__(self) -> int:
        return len(self.at_m)

    def reached_s(self, way: str, runner: int) -> Array:
        """When did this runner reach every place alone? (M,) seconds, nan where not."""
        found = self.reached_ms[WAYS.index(way), runner]
        return np.where(found == NOT_REACHED, np.nan, found / 1000.0)


def no_tracks(runners: int) -> Tracks:
    """Of a race whose alone-runs kept no tracks."""
    nothing = np.zeros((len(WAYS), runners))
    return Tracks(np.zeros(0), nothing, nothing.copy(), np.zeros((*nothing.shape, 0), np.int32))


def places_m(first_m: float, last_start_m: float, end_m: float) -> Array:
    """At which metres is a track kept? Close together where runners set off from rest, then wider. (M,)

    Whole millimetres before the last mark, whose own crossings are known to the last bit.
    """
    fine = np.arange(first_m, last_start_m + FINE_FOR_M, FINE_M)
    near = np.arange(last_start_m + FINE_FOR_M, min(end_m, NEAR_FOR_M), NEAR_M)
    far = np.arange(max(NEAR_FOR_M, last_start_m + FINE_FOR_M), end_m, FAR_M)
    whole = np.unique(np.round(MILLIMETRES * np.concatenate([fine, near, far]))) / MILLIMETRES
    return whole[whole < end_m - TINY_M]


def straightened(tracks: Tracks) -> Tracks:
    """The same tracks in as few straight lines as stay within WITHIN_MS of what was noted.

    Way by way along CHAIN, each as what it is later than the one before, so that no error is passed on.
    Check: tests/unit/state/test_tracks.py.
    """
    if not len(tracks):
        return tracks
    reached = tracks.reached_ms.astype(np.int64)
    known = reached != NOT_REACHED
    before = np.zeros(reached.shape[1:], np.int64)
    for way in CHAIN:
        later = held(reached[way] - before, known[way])
        lines = np.zeros_like(later)
        lay_lines(later, known[way].sum(axis=1), WITHIN_MS, lines)
        before = before + lines
        reached[way] = before
    # A line may fall by less than it may be wrong: the latest so far is no further from what was noted.
    reached = np.maximum.accumulate(reached, axis=2)
    return replace(tracks, reached_ms=np.where(known, reached, NOT_REACHED).astype(np.int32))


def held(values: NDArray[np.int64], known: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The last known value from there on, row by row, (N, M); nought where a row has none."""
    count = known.sum(axis=1)[:, None]
    last = np.minimum(np.arange(values.shape[1]), np.maximum(count - 1, 0))
    return np.where(count > 0, np.take_along_axis(values, last, axis=1), 0)


@compiled
def lay_lines(aims_ms: Any, counts: Any, within_ms: int, lines_ms: Any) -> None:
    """Lay a line through the first counts (N,) notes of every row, (N, M): whole milliseconds from note to
    note, as far straight on as stays within, and turning no more than it must."""
    for i in range(len(counts)):
        first, slope = 0, 0
        lines_ms[i, 0] = aims_ms[i, 0]
        while first < counts[i] - 1:
            low, high, end = -STEEPEST_MS, STEEPEST_MS, first
            while end < counts[i] - 1:
                steps = end + 1 - first
                off = aims_ms[i, end + 1] - lines_ms[i, first]
                least = max(low, -((within_ms - off) // steps))
                most = min(high, (off + within_ms) // steps)
                if least > most:
                    break
                low, high, end = least, most, end + 1
            slope = min(max(slope, low), high)
            for j in range(first, end):
                lines_ms[i, j + 1] = lines_ms[i, j] + slope
            first = end
        for j in range(max(counts[i], 1), lines_ms.shape[1]):
            lines_ms[i, j] = lines_ms[i, j - 1]
