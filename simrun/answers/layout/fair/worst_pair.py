"""Which two boxes lie furthest apart, and is that more than chance and what nobody knows would make?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from simrun.trials.how_sure import Parts, Points, Sure
from simrun.trials.statistics import CONFIDENCE, Estimate

Array = NDArray[np.float64]

TINY = 1e-12
DRAWS = 20_000
DRAWN_BY = 1
"""The same draws for every pair: equal values give equal ranges."""

FEWEST = 4
"""Of fewer races no pair is named: whether boxes scatter alike cannot be seen in them (our own choice)."""


@dataclass(frozen=True)
class WorstPair:
    """The two boxes furthest apart: the one that loses most, the one that loses least, and by how much.

    apart: its ranges hold for whichever pair is looked at, so that having picked the worst is counted;
    endless where the races are too few. is_named: is the pair further apart than that?
    """

    most: int
    least: int
    apart: Sure

    @property
    def is_enough(self) -> bool:
        """Are there races enough to say anything of a pair?"""
        return bool(np.isfinite(self.apart.low))

    @property
    def is_named(self) -> bool:
        """Is the pair told from two equal boxes?"""
        return self.apart.low > 0


def worst_of(means: Array, boxes: NDArray[np.int64], points: Points | None = None) -> WorstPair:
    """Which pair of boxes is the worst, every pair having been looked at? means (S, B) by race; boxes (B,).

    A value is race + box + chance, and chance is pooled over all boxes, so that a few races tell it: with B
    boxes and S races (S - 1) (B - 1) degrees of freedom. By chance alone the pair lies within +- q s /
    sqrt(S), q the studentised range of B means (Tukey). With inputs drawn, box by input is a second part:
    with variances A and E drawn as in `trials.how_sure.sure`, the range of B normals times sqrt(A (1 + 1 / K)
    + E / S) holds 95 of 100; wider where the pair itself scatters more than the rest. Boxes that are missing
    in some race are left out.
    Source: Tukey's simultaneous intervals, textbook (memory).
    Check: tests/unit/answers/test_worst_pair.py (share of studies that name a pair where boxes are alike).
    """
    whole = ~np.isnan(means).any(axis=0)
    known, boxes = means[:, whole], boxes[whole]
    if known.shape[1] < 2:
        return WorstPair(0, 0, _unknown(float("nan"), len(means)))
    at = known.mean(axis=0)
    most, least = int(at.argmax()), int(at.argmin())
    apart = float(at[most] - at[least])
    own = known - known.mean(axis=1, keepdims=True)
    apart_s = _ranged(apart, own, points, _rougher(own, [most, least]))
    return WorstPair(int(boxes[most]), int(boxes[least]), apart_s)


def _rougher(own: Array, pair: list[int]) -> float:
    """How much more do these two boxes scatter from race to race than all of them? At least 1.

    Boxes need not scatter alike, and those that scatter most are picked most.
    """
    if len(own) < FEWEST:
        return 1.0
    spread = own.var(axis=0, ddof=1)
    return float(np.sqrt(max(1.0, spread[pair].mean() / max(spread.mean(), TINY))))


def _unknown(apart: float, races: int) -> Sure:
    nothing = Estimate(apart, -np.inf, np.inf, races, 1.0)
    return Sure(apart, -np.inf, np.inf, races, 1.0, nothing)


def _ranged(apart: float, own: Array, points: Points | None, rougher: float) -> Sure:
    """The range of the worst of all pairs; own (S, B): every race less its own mean."""
    races, boxes = own.shape
    at = np.arange(races) if points is None else np.unique(points, return_inverse=True)[1]
    sizes = np.bincount(at)
    inner = races - len(sizes)
    if races < FEWEST or (points is not None and (len(sizes) < 2 or not inner)):
        return _unknown(apart, races)
    group = np.array([own[at == k].mean(axis=0) for k in range(len(sizes))])
    between = float((sizes[:, None] * (group - own.mean(axis=0)) ** 2).sum())
    free = (len(sizes) - 1) * (boxes - 1)
    if points is None:
        step = rougher * np.sqrt(between / _chi2(free) / races)
        return _told(apart, _held(apart, step, boxes, races))
    within = float(((own - group[at]) ** 2).sum())
    seeds = rougher**2 * within / _chi2(inner * (boxes - 1), 1)
    each = (races - (sizes**2).sum() / races) / (len(sizes) - 1)
    inputs = np.maximum(0.0, (between / _chi2(free) - seeds) / each)
    step = np.sqrt(inputs * (1 + (sizes**2).sum() / races**2) + seeds / races)
    chance = _held(apart, np.sqrt(seeds / races), boxes, races)
    found = _held(apart, step, boxes, races)
    half = max(found.high, chance.high) - apart
    p_value = max(found.p_value, chance.p_value)
    whole = Estimate(apart, apart - half, apart + half, races, p_value)
    parts = Parts(float(inputs.mean()), float(seeds.mean()), len(sizes), races)
    return _told(apart, whole, chance, parts)


def _held(apart: float, step: Array, boxes: int, races: int) -> Estimate:
    """What the largest of all differences of so many equal boxes stays within, 95 times in 100."""
    widest = _range_of(boxes) * step
    half = float(np.quantile(widest, CONFIDENCE))
    return Estimate(apart, apart - half, apart + half, races, float((widest >= apart).mean()))


def _told(
    apart: float, found: Estimate, chance: Estimate | None = None, parts: Parts | None = None
) -> Sure:
    return Sure(apart, found.low, found.high, found.count, found.p_value, chance or found, parts)


@lru_cache(maxsize=64)
def _range_of(boxes: int) -> Array:
    """The range of so many standard normal values, drawn often: (D,)."""
    return np.asarray(np.ptp(np.random.default_rng(DRAWN_BY).normal(size=(DRAWS, boxes)), axis=1))


@lru_cache(maxsize=256)
def _chi2(free: int, number: int = 0) -> Array:
    """Sums of so many squared standard normal values, drawn often: (D,)."""
    return np.asarray(np.random.default_rng([DRAWN_BY, number + 1]).chisquare(free, DRAWS))
