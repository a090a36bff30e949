"""Where does one of two plans fall behind the other? The gap by place, for those followed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.story.losing import Losing

Array = NDArray[np.float64]

STEP_M = 50.0
"""So far apart are the places at which the gap is taken."""


@dataclass(frozen=True)
class Gap:
    """Seconds a runner by which the other plan comes later to P places.

    place_m (P,): along the measured line, every STEP_M to the last mark. behind_s (P,): the mean of those
    followed who came to the place in both races, below 0: the other plan leads. nan where nobody did.
    """

    place_m: Array
    behind_s: Array

    @property
    def steps_s(self) -> Array:
        """How much of it was made in each step up to a place? (P - 1,)"""
        return np.diff(self.behind_s)

    def at(self, place_m: float) -> float:
        """The gap at a place, linear between two; nan where nobody knows."""
        return float(np.interp(place_m, self.place_m, self.behind_s))


def gap_of(one: Losing, other: Losing, who: NDArray[np.bool_]) -> Gap:
    """How far is the other plan behind, place by place? who (N,): those followed.

    Formula: the mean over them of t_other(p) - t_one(p), t(p) the moment of first coming to place p.
    Check: tests/unit/pictures/test_plans_apart.py.
    """
    end = float(one.recording.strip.checkpoints[-1].station_m)
    place = np.append(np.arange(0.0, end, STEP_M), end)
    apart = _came_s(other, place, who) - _came_s(one, place, who)
    known = np.isfinite(apart)
    count = known.sum(axis=0)
    total = np.where(known, apart, 0.0).sum(axis=0)
    mean = np.divide(total, count, out=np.full(len(place), np.nan), where=count > 0)
    return Gap(place, mean)


def _came_s(losing: Losing, place_m: Array, who: NDArray[np.bool_]) -> Array:
    """When did they first come to these places? (M, P) seconds, nan where not."""
    times, far = losing.account.times_s, losing.account.place_m[:, who]
    found = np.full((far.shape[1], len(place_m)), np.nan)
    for row, line in enumerate(np.maximum.accumulate(np.nan_to_num(far), axis=0).T):
        reached, first = np.unique(line, return_index=True)
        found[row] = np.interp(place_m, reached, times[first], right=np.nan)
    return found
