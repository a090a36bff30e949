"""Intervals, ranges, words and corrections: against hand-worked numbers and by simulation."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.pages.numbers import NOTHING_SEEN, difference
from simrun.trials.statistics import (
    Estimate,
    best_of,
    estimate,
    half_width,
    holm,
    paired,
    single_range,
)

pytestmark = pytest.mark.oracle

TRIALS = 4000


def band(share: float, trials: int = TRIALS) -> float:
    """Four standard errors of a share counted in so many trials."""
    return 4 * float(np.sqrt(share * (1 - share) / trials))


def test_an_interval_worked_by_hand() -> None:
    """1 2 3 4 5: mean 3, s = 1.5811, t(4) = 2.7764, half width 1.9633 (tables of t)."""
    found = estimate([1, 2, 3, 4, 5])
    assert found.mean == 3
    assert found.count == 5
    assert found.high - 3 == pytest.approx(1.9633, abs=1e-4)
    assert 3 - found.low == pytest.approx(1.9633, abs=1e-4)
    assert found.p_value == pytest.approx(0.0132, abs=5e-5)


def test_many_means_at_once() -> None:
    """One error each, the same count; no spread, no width."""
    assert half_width([1.0, 0.0], 5) == pytest.approx([2.7764, 0.0], abs=1e-4)
    assert float(half_width(1.0, 10**6)) == pytest.approx(1.96, abs=1e-3)


def test_an_interval_holds_the_truth_as_often_as_it_says() -> None:
    """95 of 100 intervals from six seeds, within four standard errors of 4000 trials."""
    rng = np.random.default_rng(5)
    found = [estimate(rng.normal(2, 3, 6)) for _ in range(TRIALS)]
    held = np.mean([f.low <= 2 <= f.high for f in found])
    assert abs(held - 0.95) < band(0.95)


def test_the_interval_and_the_p_value_agree() -> None:
    """Zero is outside the interval exactly when p is below 0.05."""
    rng = np.random.default_rng(6)
    found = [estimate(rng.normal(0.6, 1, 8)) for _ in range(200)]
    assert all(f.is_seen == (f.p_value < 0.05) for f in found)
    assert 20 < sum(f.is_seen for f in found) < 180


@pytest.mark.parametrize("values", [[], [3.0], [np.nan, np.nan, 7.0]])
def test_fewer_than_two_seeds_claim_nothing(values: list[float]) -> None:
    """The interval is endless."""
    found = estimate(values)
    assert (found.low, found.high, found.p_value) == (-np.inf, np.inf, 1.0)
    assert difference(found) == NOTHING_SEEN


def test_values_that_never_differ() -> None:
    """A mirror image: every difference is exactly 0, and that is not seen; exactly 2 is."""
    assert not estimate([0.0] * 5).is_seen
    assert estimate([0.0] * 5).p_value == 1
    assert estimate([2.0] * 5) == Estimate(2.0, 2.0, 2.0, 5, 0.0)


def test_pairs_take_out_what_both_arms_share() -> None:
    """Seeds differ by minutes, arms by a second: seen only seed by seed; a missing half drops the pair."""
    rng = np.random.default_rng(7)
    seeds = rng.normal(0, 100, 12)
    first, second = seeds + 1 + rng.normal(0, 0.1, 12), seeds
    assert paired(first, second).is_seen
    assert paired(first, second).mean == pytest.approx(1, abs=0.15)
    assert not paired(first, second[::-1]).is_seen
    second[3] = np.nan
    assert paired(first, second).count == 11
    with pytest.raises(ValueError, match="pairs"):
        paired([1.0, 2.0], [1.0])


def test_the_range_of_single_outcomes_is_not_the_interval_of_the_mean() -> None:
    """0 to 100 lie between 10 and 90; the interval of the mean is far narrower."""
    values = np.arange(101.0)
    assert single_range(values) == (10, 90)
    assert single_range([*values, np.nan]) == (10, 90)
    found = estimate(values)
    assert found.high - found.low < 12
    assert all(np.isnan(single_range([])))


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (1.2, 3.4, "between 1.2 and 3.4 s more"),
        (-3.4, -1.2, "between 1.2 and 3.4 s less"),
        (-0.1, 3.4, NOTHING_SEEN),
        (0.001, 0.04, NOTHING_SEEN),
        (-0.04, -0.001, NOTHING_SEEN),
        (0.01, 0.2, "between 0.0 and 0.2 s more"),
    ],
)
def test_words(low: float, high: float, expected: str) -> None:
    """What a coach reads; nothing that rounds to 0.0 is a difference."""
    assert difference(Estimate((low + high) / 2, low, high, 10, 0.01)) == expected


def test_holm_worked_by_hand() -> None:
    """0.01 0.04 0.03 0.005: 0.005 x 4, 0.01 x 3, 0.03 x 2, and 0.04 is raised to 0.06."""
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([0.9, 0.8]) == pytest.approx([1.0, 1.0])
    assert len(holm([])) == 0


def claimed(means: list[float], trials: int, seeds: int = 10) -> float:
    """How often is an arm said to be beaten that is not worse?"""
    rng = np.random.default_rng(8)
    wrong = 0
    for _ in range(trials):
        shared = rng.normal(0, 5, seeds)
        arms = {str(i): shared + rng.normal(mean, 1, seeds) for i, mean in enumerate(means)}
        best = best_of(arms)
        wrong += any(means[int(name)] <= means[int(best.name)] for name in best.beaten)
    return wrong / trials


@pytest.mark.parametrize("means", [[0.0] * 6, [0.0, 0.0, 9.0, 9.0], [0.0, 0.0]])
def test_the_best_of_many_is_rarely_luck(means: list[float]) -> None:
    """Equal arms, and two equal ones among worse: at most one false claim in twenty."""
    trials = 600
    assert claimed(means, trials) < 0.05 + band(0.05, trials)


def test_without_the_correction_luck_would_win() -> None:
    """The same six equal arms, best against worst at p < 0.05: far more than one in twenty."""
    rng = np.random.default_rng(9)
    wrong = 0
    for _ in range(300):
        arms = rng.normal(0, 1, (6, 10))
        order = arms.mean(axis=1).argsort()
        wrong += paired(arms[order[0]], arms[order[-1]]).p_value < 0.05
    assert wrong / 300 > 0.2


def test_a_clear_best_is_named() -> None:
    """Three seconds better than all, with a spread of one: it beats everybody."""
    rng = np.random.default_rng(10)
    arms = {name: rng.normal(mean, 1, 20) for name, mean in {"a": 3, "b": 0, "c": 3}.items()}
    best = best_of(arms)
    assert (best.name, set(best.beaten), best.is_clear) == ("b", {"a", "c"}, True)
    arms["d"] = arms["b"] + np.tile([0.1, -0.1], 10)
    assert not best_of(arms).is_clear
