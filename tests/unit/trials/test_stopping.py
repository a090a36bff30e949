"""Planned looks: the bounds against a published table, the error and the power by simulation."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.trials.statistics import estimate
from simrun.trials.stopping import Looks, boundaries, look_until_clear, spent

TRIALS = 3000


def stopped(mean: float, looks: Looks, trials: int = TRIALS, spread: float = 1.0) -> list:
    """Studies of a true difference `mean`, each looked at as planned."""
    rng = np.random.default_rng(11)
    return [
        look_until_clear(lambda a, b: rng.normal(mean, spread, b - a), looks) for _ in range(trials)
    ]


def test_five_equal_looks_have_the_published_bounds() -> None:
    """4.877 3.357 2.680 2.290 2.031 for a two-sided error of 0.05.

    Source: tables for the spending function of Lan and DeMets 1983 that behaves like O'Brien and
    Fleming's bounds; memory.
    """
    found = boundaries((1, 2, 3, 4, 5), 0.05)
    assert found == pytest.approx((4.877, 3.357, 2.680, 2.290, 2.031), abs=0.001)


def test_one_look_is_a_plain_test() -> None:
    """1.960 standard errors (tables of the normal curve), and all of the error spent."""
    assert boundaries((10,), 0.05) == pytest.approx((1.95996,), abs=1e-4)
    assert spent(1.0, 0.05) == pytest.approx(0.05)


@pytest.mark.slow
def test_a_study_of_nothing_rarely_claims_something() -> None:
    """At most one in twenty, t-distributed and with four looks; four standard errors of the trials.

    The bounds are for known spread. With t in place of normal they hold to within a fraction of a
    percent from ten seeds on, which the same simulation would show.
    """
    looks = Looks()
    rate = np.mean([s.found.is_seen for s in stopped(0.0, looks)])
    assert rate < 0.05 + 4 * np.sqrt(0.05 * 0.95 / TRIALS)
    assert rate > 0.02


def test_looking_without_a_plan_claims_far_too_much() -> None:
    """The mistake that this guards against: a plain 95 % interval at each of the same four looks."""
    rng = np.random.default_rng(12)
    wrong = 0
    for _ in range(1000):
        values = rng.normal(0, 1, 80)
        wrong += any(estimate(values[:n]).is_seen for n in Looks().counts)
    assert wrong / 1000 > 0.09


def test_the_interval_holds_the_truth_at_whatever_look_we_stop() -> None:
    """For a difference that is found early as well as for one that never is: 95 of 100."""
    for mean in (0.3, 1.0):
        found = [s.found for s in stopped(mean, Looks(), 1500)]
        held = np.mean([f.low <= mean <= f.high for f in found])
        assert held > 0.95 - 4 * np.sqrt(0.05 * 0.95 / 1500)


def test_a_plain_difference_is_found_early_and_a_small_one_costs_the_budget() -> None:
    """Two spreads: mostly after twenty. A tenth of a spread: nearly always all eighty."""
    plain = [len(s.values) for s in stopped(2.0, Looks(), 300)]
    small = [len(s.values) for s in stopped(0.1, Looks(), 300)]
    assert np.median(plain) <= 20
    assert np.median(small) == 80


def test_a_fine_interval_stops_too_and_seeds_are_numbered_on() -> None:
    """Half a second is fine enough: the first look ends it; every seed is asked for once."""
    asked = []

    def more(first: int, last: int) -> np.ndarray:
        asked.append((first, last))
        return np.tile([-0.01, 0.01], 500)[first:last]

    settled = look_until_clear(more, fine_enough=0.5)
    assert (settled.looks_taken, len(settled.values), asked) == (1, 10, [(0, 10)])
    asked.clear()
    assert len(look_until_clear(more).values) == 80
    assert asked == [(0, 10), (10, 20), (20, 40), (40, 80)]


def test_bounds_fall_and_the_error_is_spent_late() -> None:
    """Each look is easier than the one before."""
    bounds = boundaries((10, 20, 40, 80), 0.05)
    assert all(a > b for a, b in pairwise(bounds))
    assert spent(0.25, 0.05) < 0.001


@pytest.mark.parametrize("counts", [(), (3, 10), (10, 10), (20, 10)])
def test_looks_that_make_no_sense(counts: tuple[int, ...]) -> None:
    """One line."""
    with pytest.raises(BadInput, match="growing whole numbers"):
        Looks(counts)


def test_an_error_that_makes_no_sense() -> None:
    """One line."""
    with pytest.raises(BadInput, match="error"):
        Looks((10, 20), 0.9)
