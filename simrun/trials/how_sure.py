"""How sure is an answer when chance is one thing and what nobody has measured is another?

Where the inputs are drawn (`scenario.inputs.drawn`), seeds 1 and 2 meet one point of them, 3 and 4 the next:
what differs within such a pair is chance, what differs between pairs is the inputs as well. Two ranges are
told apart. By chance alone: where the mean over many more races at these points lies. The whole range: where
the answer lies, people and chances averaged out, with inputs that nobody knows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simrun.runners.streams import point_number
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import CONFIDENCE, Estimate, estimate, half_width, single_range

Array = NDArray[np.float64]
Points = NDArray[np.int64]

DRAWS = 4096
"""So many draws of the two unknown variances make a whole range; surer than 1 - 1 / DRAWS is told as that."""

DRAWN_BY = 1
"""The same draws for every range: equal values give equal ranges."""

FEWEST_POINTS, MOST_POINTS = 5, 1000


@dataclass(frozen=True)
class Parts:
    """Where do differences between races come from? Variances of single races, over `points` of the inputs.

    inputs: between points, chance averaged out (never below nothing); chance: between seeds at one point.
    """

    inputs: float
    chance: float
    points: int
    count: int

    @property
    def inputs_share(self) -> float:
        """Which share of the variance of single races do the inputs make? nan where nothing varies."""
        whole = self.inputs + self.chance
        return self.inputs / whole if whole > 0 else math.nan


@dataclass(frozen=True)
class Sure(Estimate):
    """low, high: the whole range, over inputs and chance. by_chance: the interval that chance alone leaves.

    parts: the two variances; None where the inputs were not drawn: then both are the same interval.
    """

    by_chance: Estimate
    parts: Parts | None = None

    @property
    def seeds_alone(self) -> Estimate:
        """The interval that more races would narrow."""
        return self.by_chance

    def mapped(self, grows: Callable[[float], float]) -> Sure:
        """The same of a growing function of it: a root, a share. The parts are those of the plain values."""
        whole, chance = (
            Estimate(grows(e.mean), grows(e.low), grows(e.high), e.count, e.p_value)
            for e in (self, self.by_chance)
        )
        return _told(whole, chance, self.parts)

    def columns(self, name: str) -> dict[str, float]:
        """As cells of a table: the mean under this name, its range, and that of chance alone."""
        return {
            name: self.mean,
            f"{name}_low": self.low,
            f"{name}_high": self.high,
            f"{name}_chance_low": self.by_chance.low,
            f"{name}_chance_high": self.by_chance.high,
        }

    def turned(self) -> Sure:
        """The same with the other sign: what is gained where this is what is lost."""
        whole, chance = (
            Estimate(-e.mean, -e.high, -e.low, e.count, e.p_value) for e in (self, self.by_chance)
        )
        return _told(whole, chance, self.parts)


class Judge(Protocol):
    """How are values judged, one a seed in the order of the study's seeds, which may go on longer?"""

    def __call__(self, values: ArrayLike, confidence: float = CONFIDENCE, /) -> Sure: ...


def judge_of(day: Scenario, seeds: Sequence[int]) -> Judge:
    """The judge of this race day's races with these seeds: its inputs are drawn, or they are not."""
    points = points_of(day, seeds)

    def judge(values: ArrayLike, confidence: float = CONFIDENCE, /) -> Sure:
        given = np.asarray(values, dtype=float)
        return sure(given, None if points is None else points[: len(given)], confidence)

    return judge


def by_chance_alone(values: ArrayLike, confidence: float = CONFIDENCE, /) -> Sure:
    """The judge where no inputs are drawn."""
    return sure(values, None, confidence)


def points_of(day: Scenario, seeds: Sequence[int]) -> Points | None:
    """Which point of the inputs did every seed meet? (S,); None where this day's inputs are not drawn."""
    if not day.inputs.drawn:
        return None
    return np.array([point_number(seed) for seed in seeds], dtype=np.int64)


@dataclass(frozen=True)
class _Squares:
    """Mean squares between and within points, and what belongs to them.

    seeds_a_point: n0, 2 for whole pairs; unevenness: sum n_k^2 / S^2, one over K for whole pairs.
    """

    mean: float
    between: float
    within: float
    seeds_a_point: float
    unevenness: float
    points: int
    count: int

    @property
    def is_enough(self) -> bool:
        """Are there two points at least, and one that two seeds met?"""
        return 1 < self.points < self.count

    @property
    def parts(self) -> Parts:
        """The two variances by the method of moments."""
        inputs = max(0.0, (self.between - self.within) / self.seeds_a_point)
        return Parts(inputs, self.within, self.points, self.count)


def _squares(values: Array, points: Points) -> _Squares:
    _, where, sizes = np.unique(points, return_inverse=True, return_counts=True)
    count, groups = len(values), len(sizes)
    means = np.bincount(where, values) / sizes
    mean = float(values.mean()) if count else math.nan
    within = float(((values - means[where]) ** 2).sum()) / max(1, count - groups)
    between = float((sizes * (means - mean) ** 2).sum()) / max(1, groups - 1)
    evenly = float((sizes**2).sum())
    n0 = (count - evenly / max(1, count)) / max(1, groups - 1)
    return _Squares(mean, between, within, n0, evenly / max(1, count) ** 2, groups, count)


def parts_of(values: ArrayLike, points: ArrayLike) -> Parts | None:
    """How much of the variance is chance, how much the inputs? One value and one point a seed, (S,) each.

    One-way random effects by the method of moments: chance = MSW, inputs = max(0, (MSB - MSW) / n0), where
    n0 = (S - sum n_k^2 / S) / (K - 1) is 2 for K whole pairs. None where no point has two seeds, or there is
    one point only. Source: textbook (Searle, Casella and McCulloch 1992, chapter 3); memory.
    Check: tests/unit/trials/test_how_sure.py.
    """
    found = _known_squares(np.asarray(values, dtype=float), np.asarray(points))
    return found.parts if found.is_enough else None


def _known_squares(values: Array, points: Points) -> _Squares:
    known = ~np.isnan(values)
    return _squares(values[known], points[known])


def sure(values: ArrayLike, points: ArrayLike | None, confidence: float = CONFIDENCE) -> Sure:
    """Where does the answer lie, inputs unknown? One value a seed, nan left out; points as of `points_of`.

    Without points (inputs fixed) both ranges are the interval of `estimate`. With them, what is asked for is
    m(x) = the mean over all seeds at inputs x, where x is drawn once more from the ranges. From the mean of
    the study it lies off by a step of variance A (1 + sum n_k^2 / S^2) + E / S: A of the inputs, E of chance.
    Neither is known, so both are drawn, E = SSW / chi2(S - K), n0 A + E = SSB / chi2(K - 1), A not below 0,
    and the range holds `confidence` of the steps: few pairs give a wide range, since so few cannot show that
    the inputs do nothing. By chance alone: mean +- t(S - K) sqrt(E / S). The whole range is never narrower.
    p_value: of a step as large as the mean.
    Source: generalised intervals for variance components, Weerahandi 1993, J. Am. Stat. Assoc. 88:899;
    memory. Check: tests/unit/trials/test_how_sure.py (share of ranges that hold the truth, by simulation).
    """
    given = np.asarray(values, dtype=float)
    if points is None:
        plain = estimate(given, confidence)
        return _told(plain, plain, None)
    found = _known_squares(given, np.asarray(points))
    if not found.is_enough:
        nothing = Estimate(found.mean, -np.inf, np.inf, found.count, 1.0)
        return _told(nothing, nothing, None)
    chance = _by_chance(found, confidence)
    return _told(_whole(found, chance, confidence), chance, found.parts)


def _told(whole: Estimate, chance: Estimate, parts: Parts | None) -> Sure:
    return Sure(whole.mean, whole.low, whole.high, whole.count, whole.p_value, chance, parts)


def _by_chance(found: _Squares, confidence: float) -> Estimate:
    from scipy import stats

    freedom, error = found.count - found.points, math.sqrt(found.within / found.count)
    half = float(half_width(error, freedom + 1, confidence))
    p_value = float(2 * stats.t.sf(abs(found.mean) / error, freedom)) if error else 0.0
    p_value = p_value if found.mean else 1.0
    return Estimate(found.mean, found.mean - half, found.mean + half, found.count, p_value)


def _whole(found: _Squares, chance: Estimate, confidence: float) -> Estimate:
    from scipy import stats

    normal, within, between = _drawn(found.points, found.count)
    seeds = found.within / within
    inputs = np.maximum(0.0, (found.between / between - seeds) / found.seeds_a_point)
    step = np.sqrt(inputs * (1 + found.unevenness) + seeds / found.count)
    half = max(float(np.quantile(normal * step, confidence)), chance.high - found.mean)
    p_value = max(chance.p_value, _beyond(found.mean, step, stats.norm.sf))
    return Estimate(found.mean, found.mean - half, found.mean + half, found.count, p_value)


def _beyond(mean: float, step: Array, tail: Callable[[Array], Array]) -> float:
    """How likely is a step as large as the mean, to either side?"""
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(np.mean(2 * tail(np.nan_to_num(abs(mean) / step, nan=0.0, posinf=np.inf))))


@lru_cache(maxsize=64)
def _drawn(points: int, count: int) -> tuple[Array, Array, Array]:
    """Sizes of standard normal steps, and chi2 / freedom within and between points: (D,) each, even draws."""
    from scipy import stats
    from scipy.stats import qmc

    even = qmc.Sobol(3, scramble=True, rng=DRAWN_BY).random(DRAWS)
    normal = np.abs(stats.norm.ppf(even[:, 0]))
    within, between = count - points, points - 1
    return (
        normal,
        stats.chi2.ppf(even[:, 1], within) / within,
        stats.chi2.ppf(even[:, 2], between) / between,
    )


def single_ranges(
    values: ArrayLike, points: ArrayLike | None
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Between what do eight of ten single races lie: with inputs unknown, and by chance alone?

    The first is the 10th and the 90th percentile of the races as they are. The second are those of the mean
    plus what is left of every race when its point's own mean is taken away, widened by sqrt(n / (n - 1)) for
    the mean of so few; nan where no point has two. Without points both are the same.
    Check: tests/unit/trials/test_how_sure.py.
    """
    given = np.asarray(values, dtype=float)
    whole = single_range(given)
    if points is None:
        return whole, whole
    known = ~np.isnan(given)
    given, at = given[known], np.asarray(points)[known]
    _, where, sizes = np.unique(at, return_inverse=True, return_counts=True)
    here = sizes[where]
    left = (given - np.bincount(where, given)[where] / here)[here > 1]
    wide = left * np.sqrt(here / np.maximum(here - 1, 1))[here > 1]
    return whole, single_range(given.mean() + wide) if len(wide) else (math.nan, math.nan)


@dataclass(frozen=True)
class Planned:
    """How many points of the inputs, and how many seeds in all?"""

    points: int

    @property
    def seeds(self) -> int:
        """Two a point: the fewest that tell the parts apart, and so the most points for the races."""
        return 2 * self.points


def planned(
    parts: Parts, off: float = 0.25, chance_share: float = 0.1, fine: float = 0.0
) -> Planned:
    """How many points and seeds does a study need, as its two variances stand?

    Until two things hold of the whole range, whose half width is about 2 sqrt(W), W = A + E / 2K. off: it is
    known to so much of itself, one standard error: that of A, over 2 W, where A's is
    sqrt(((2 A + E)^2 / (K - 1) + E^2 / K) / 2). chance_share: chance adds no more than this, E / 2K of A.
    fine: in the unit of the values, what needs to be known no better, be it the one or the other. Never fewer
    than FEWEST_POINTS; at most MOST_POINTS. Check: tests/unit/trials/test_how_sure.py.
    """
    inputs, chance = parts.inputs, parts.chance
    for points in range(FEWEST_POINTS, MOST_POINTS):
        left = chance / (2 * points)
        whole = inputs + left
        error = math.sqrt(((2 * inputs + chance) ** 2 / (points - 1) + chance**2 / points) / 2)
        share = error / (2 * whole) if whole > 0 else 0.0
        known = share <= off or 2 * (math.sqrt(whole + error) - math.sqrt(whole)) <= fine
        if known and (left <= chance_share * inputs or 2 * math.sqrt(left) <= fine):
            return Planned(points)
    return Planned(MOST_POINTS)
