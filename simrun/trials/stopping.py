"""When have we run enough races? A few planned looks, and an error stated beforehand.

Who looks after every race and stops at the first clear answer finds differences that are not there far
more often than one time in twenty. So the looks are planned, and the error is spent over them: little at
first, the rest at the end.
Source: group-sequential boundaries, Lan and DeMets 1983, Biometrika 70:659 (spending), Armitage,
McPherson and Rowe 1969 (the recursion); memory. Check: tests/unit/trials/test_stopping.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.trials.statistics import CONFIDENCE, Estimate, estimate

Array = NDArray[np.float64]

FEWEST_SEEDS = 5
"""Below this the spread of a difference is hardly known."""

GRID = 2001
WIDEST = 8.0
"""The recursion runs on so many points from minus to plus so many standard errors."""


@dataclass(frozen=True)
class Looks:
    """After how many seeds do we look, and how often may a study of no difference claim one?

    The last count is the budget. Raises BadInput.
    """

    counts: tuple[int, ...] = (10, 20, 40, 80)
    error: float = 1 - CONFIDENCE

    def __post_init__(self) -> None:
        grows = all(a < b for a, b in zip(self.counts, self.counts[1:], strict=False))
        if not self.counts or not grows or self.counts[0] < FEWEST_SEEDS:
            allowed = f"growing whole numbers from {FEWEST_SEEDS}"
            raise BadInput(Problem("looks", str(self.counts)[:60], allowed))
        if not 0.0001 <= self.error <= 0.5:
            raise BadInput(Problem("error", f"{self.error:g}", "from 0.0001 to 0.5"))

    @property
    def confidence(self) -> tuple[float, ...]:
        """How sure must the interval of every look be, taken by itself?"""
        from scipy import stats

        return tuple(float(2 * stats.norm.cdf(z) - 1) for z in boundaries(self.counts, self.error))


def doubling(budget: int) -> tuple[int, ...]:
    """When to look on the way to so many seeds: at the budget, half of it, a quarter, while ten are left."""
    counts = [budget]
    while counts[0] >= 20:
        counts.insert(0, -(-counts[0] // 2))
    return tuple(counts)


@dataclass(frozen=True)
class Settled:
    """What a study in looks found: the interval of its last look, how many were taken, the values."""

    found: Estimate
    looks_taken: int
    values: Array


def look_until_clear(
    more: Callable[[int, int], Sequence[float] | Array],
    looks: Looks | None = None,
    fine_enough: float = 0.0,
    judge: Callable[[Array, float], Estimate] = estimate,
) -> Settled:
    """Run seeds until the difference is clear, the interval is fine enough, or the budget is used up.

    more(first, last): the differences of the seeds numbered from `first` (from 0) to before `last`,
    one each. fine_enough: stop, too, once the half width of what more races would narrow is below this.
    judge: of all values so far, where inputs are drawn as well (`trials.how_sure`). The interval of the look
    at which we stop is wider than a plain one: that is the price of the looks.
    """
    looks = looks or Looks()
    values = np.empty(0)
    taken = 0
    for count, sure in zip(looks.counts, looks.confidence, strict=True):
        taken += 1
        values = np.concatenate([values, np.asarray(more(len(values), count), dtype=float)])
        found = judge(values, sure)
        alone = found.seeds_alone
        if found.is_seen or (alone.high - alone.low) / 2 < fine_enough:
            break
    return Settled(found, taken, values)


def spent(share: float, error: float) -> float:
    """How much of the error may be used up when this share of the seeds is run?

    On each side 2 (1 - Phi(z / sqrt(share))) with z such that all of it is spent at the end: next to
    nothing early.
    """
    from scipy import stats

    return float(4 * stats.norm.sf(stats.norm.isf(error / 4) / np.sqrt(share)))


@lru_cache(maxsize=64)
def boundaries(counts: tuple[int, ...], error: float) -> tuple[float, ...]:
    """How many standard errors off zero must the mean be at every look?

    The chance that a mean of nothing is beyond the bound at look k, and was not before, is what the
    spending allows. Between looks the sum of n values moves by a normal step of variance n.
    """
    from scipy.optimize import brentq

    share = np.array(counts) / counts[-1]
    allowed = np.diff([0.0, *(spent(s, error) for s in share)])
    found: list[float] = []
    at, density = np.zeros(1), np.ones(1)
    before = 0.0
    for now, step in zip(share, allowed, strict=True):
        deviation = np.sqrt(now - before)
        z = brentq(_beyond, 0.0, WIDEST, args=(at, density, now, deviation, step))
        found.append(float(z))
        at, density = _kept(z, at, density, now, deviation)
        before = now
    return tuple(found)


def _beyond(
    z: float, at: Array, weight: Array, share: float, deviation: float, allowed: float
) -> float:
    """The chance to step beyond +-z standard errors from where we were, less what is allowed."""
    from scipy import stats

    bound = z * np.sqrt(share)
    out = stats.norm.sf((bound - at) / deviation) + stats.norm.cdf((-bound - at) / deviation)
    return float((weight * out).sum() - allowed)


def _kept(
    z: float, at: Array, weight: Array, share: float, deviation: float
) -> tuple[Array, Array]:
    """Where the sum may be after a look that did not stop: points inside the bound and their weights."""
    from scipy import stats

    bound = z * np.sqrt(share)
    points = np.linspace(-bound, bound, GRID)
    density = (weight[:, None] * stats.norm.pdf(points, at[:, None], deviation)).sum(axis=0)
    simpson = np.ones(GRID)
    simpson[1:-1:2], simpson[2:-1:2] = 4, 2
    return points, density * simpson * (points[1] - points[0]) / 3
