"""How sure is an answer that comes from a number of races?

Two things are told apart: the interval of a mean (where the long-run average lies) and the range of
single outcomes (what one race may bring). Differences between arms are taken seed by seed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

CONFIDENCE = 0.95


@dataclass(frozen=True)
class Estimate:
    """A mean of so many seeds, its interval and its p-value against zero (two-sided t).

    With fewer than two seeds the interval is endless and p is 1: nothing is claimed.
    """

    mean: float
    low: float
    high: float
    count: int
    p_value: float

    @property
    def is_seen(self) -> bool:
        """Does the interval leave zero out?"""
        return self.low > 0 or self.high < 0

    @property
    def seeds_alone(self) -> Estimate:
        """The interval that more races would narrow: this one, where nothing else is unknown."""
        return self


def half_width(error: ArrayLike, count: int, confidence: float = CONFIDENCE) -> Array:
    """How far to either side does the interval of a mean of `count` reach, from its standard error?

    Formula: t(n-1) error (Student). Check: tests/unit/trials/test_statistics.py.
    """
    return np.asarray(errors_wide(count, confidence) * np.asarray(error))


@lru_cache(maxsize=256)
def errors_wide(count: int, confidence: float) -> float:
    """How many standard errors is that? Kept, because a page asks for the same few hundreds of times."""
    from scipy import stats

    return float(stats.t.interval(confidence, count - 1)[1])


def estimate(values: ArrayLike, confidence: float = CONFIDENCE) -> Estimate:
    """Where does the mean of these lie? One value a seed; nan (nobody arrived) is left out and not counted.

    Formula: mean +- t(n-1) s / sqrt(n). Check: tests/unit/trials/test_statistics.py (share of intervals
    that hold the truth, by simulation).
    """
    from scipy import stats

    given = np.asarray(values, dtype=float)
    given = given[~np.isnan(given)]
    count = len(given)
    if count == 0:
        return Estimate(np.nan, -np.inf, np.inf, 0, 1.0)
    mean = float(given.mean())
    if count == 1:
        return Estimate(mean, -np.inf, np.inf, 1, 1.0)
    error = float(given.std(ddof=1)) / np.sqrt(count)
    half = float(half_width(error, count, confidence))
    if error == 0:
        return Estimate(mean, mean, mean, count, float(mean == 0))
    p_value = float(2 * stats.t.sf(abs(mean) / error, count - 1))
    return Estimate(mean, mean - half, mean + half, count, p_value)


def paired(first: ArrayLike, second: ArrayLike, confidence: float = CONFIDENCE) -> Estimate:
    """By how much is the first arm above the second? The same seeds in the same order in both.

    A seed in which either arm has nan drops out of both.
    """
    one, other = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if one.shape != other.shape:
        raise ValueError(f"pairs are needed, found {one.shape} and {other.shape}")
    return estimate(one - other, confidence)


def single_range(values: ArrayLike) -> tuple[float, float]:
    """Between what do eight of ten single outcomes lie? The 10th and the 90th percentile."""
    given = np.asarray(values, dtype=float)
    given = given[~np.isnan(given)]
    if not len(given):
        return np.nan, np.nan
    low, high = np.percentile(given, [10, 90])
    return float(low), float(high)


def holm(p_values: Sequence[float]) -> Array:
    """The p-values made honest for having looked at so many at once, in the order given.

    The k-th smallest of m is taken (m - k + 1) times, never below the one before, at most 1.
    Source: Holm 1979, Scandinavian Journal of Statistics 6:65; memory.
    """
    given = np.asarray(p_values, dtype=float)
    order = np.argsort(given)
    stepped = np.maximum.accumulate(given[order] * np.arange(len(given), 0, -1))
    adjusted = np.empty(len(given))
    adjusted[order] = np.minimum(stepped, 1.0)
    return adjusted


@dataclass(frozen=True)
class Best:
    """The arm with the lowest mean, those it beats beyond doubt, and those it cannot be told from."""

    name: str
    beaten: tuple[str, ...]
    not_told_from: tuple[str, ...]

    @property
    def is_clear(self) -> bool:
        """Is it better than every other?"""
        return not self.not_told_from


def best_of(
    arms: Mapping[str, ArrayLike],
    error: float = 1 - CONFIDENCE,
    judge: Callable[[ArrayLike], Estimate] = estimate,
) -> Best:
    """Which arm has the lowest mean, and is that more than chance? Values (S,) by arm, paired by seed.

    The best was picked after looking, so every pair of arms counts as a question: Holm over all pairs.
    At most `error` of such answers claim a difference that is not there. judge: of the differences of a pair,
    where inputs are drawn as well (`trials.how_sure`).
    Check: tests/unit/trials/test_statistics.py (by simulation).
    """
    names = list(arms)
    pairs = list(combinations(names, 2))
    found = holm([judge(np.subtract(arms[a], arms[b])).p_value for a, b in pairs])
    doubt = {frozenset(pair): found[i] for i, pair in enumerate(pairs)}
    best = min(names, key=lambda name: _mean(arms[name]))
    beaten = [n for n in names if n != best and doubt[frozenset((best, n))] < error]
    return Best(best, tuple(beaten), tuple(n for n in names if n != best and n not in beaten))


def _mean(values: ArrayLike) -> float:
    given = np.asarray(values, dtype=float)
    return float(np.nanmean(given)) if not np.isnan(given).all() else np.inf
