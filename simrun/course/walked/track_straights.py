"""Where does a way that is drawn as straights turn? Found in steps that an error blurs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

PRICE = 16.0
"""A further straight must explain the steps better by so much (twice the log-likelihood): about the price
that Schwarz's criterion asks for two numbers and a place among a thousand."""

LEAST_POINTS = 5
"""A straight has at least so many steps; what is shorter is part of a turn."""

MOST_IN_TURN = 9
TURN_PRICE = 2.0
"""A turn takes so many steps at most, and each costs a little more than one that is explained (which
costs 1)."""


@dataclass(frozen=True)
class Straight:
    """One straight from point `first` to point `last`; its mean step and the middle of its points are
    (2,)."""

    first: int
    last: int
    step_m: Array
    middle_m: Array

    @property
    def heading_rad(self) -> float:
        """Anticlockwise from x."""
        return float(np.arctan2(self.step_m[1], self.step_m[0]))


def straights_of(points: Array, weight: Array, step_variance_m2: float) -> list[Straight]:
    """The straights of a way through these evenly spaced points (P, 2), the likeliest by a fair price.

    weight (P,): of how many laps a point is the mean. step_variance_m2: what the error adds to a step on
    each axis. Formula: piecewise constant mean of the steps, by dynamic programming over all ways to part
    them: an error that wanders hardly changes from one point to the next, so steps, not places, are
    independent. Check: tests/unit/course/test_watch_course.py.
    """
    steps = np.diff(points, axis=0)
    share = np.minimum(weight[1:], weight[:-1]) / step_variance_m2
    total = np.vstack([np.zeros(6), np.cumsum(_moments(steps, share), axis=0)])
    entry = np.full(len(points), np.inf)
    entry[0] = 0.0
    best, came = np.full(len(points), np.inf), np.zeros((len(points), 2), dtype=int)
    for last in range(LEAST_POINTS, len(points)):
        firsts = np.arange(0, last - LEAST_POINTS + 1)
        cost = entry[firsts] + _misfit(total[last] - total[firsts]) + PRICE
        came[last, 0], best[last] = cost.argmin(), cost.min()
        # The next straight may begin at once, or some steps later: those between are the turn.
        within = np.arange(min(MOST_IN_TURN, last) + 1)
        turned = best[last - within] + TURN_PRICE * within
        came[last, 1], entry[last] = last - within[turned.argmin()], turned.min()
    found: list[Straight] = []
    last = len(points) - 1
    while last > 0:
        first = int(came[last, 0])
        found.append(_straight(points, total, first, last))
        last = int(came[first, 1]) if first else 0
    return found[::-1]


def _moments(steps: Array, share: Array) -> Array:
    x, y = steps.T
    one = np.ones(len(steps))
    return share[:, None] * np.stack([one, x, y, x * x, x * y, y * y], axis=1)


def _misfit(sums: Array) -> Array:
    """How far the steps go aside of their mean, in units of the error's variance."""
    _, x, y, xx, xy, yy = np.moveaxis(sums, -1, 0)
    return np.asarray((xx * y * y - 2 * xy * x * y + yy * x * x) / np.maximum(x * x + y * y, 1e-12))


def _straight(points: Array, total: Array, first: int, last: int) -> Straight:
    count, x, y = (total[last] - total[first])[:3]
    return Straight(first, last, np.array([x, y]) / count, points[first : last + 1].mean(axis=0))
