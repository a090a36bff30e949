"""Does what was seen agree? Against known crowds of figures, and against what another source leaves."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.trials.learning.agreement import (
    learners_without,
    weighted_ends,
    with_any,
    with_others,
    with_posterior,
)
from simrun.trials.learning.learn_inputs import learner_of, scores_of

RACES = 500


def sources(seed: int) -> tuple[np.ndarray, list[np.ndarray]]:
    """One input that two sources tell, each by two figures, with small errors."""
    rng = np.random.default_rng(seed)
    unit = rng.random((RACES, 2))
    score = scores_of(unit)[:, :1]
    return unit, [score + 0.3 * rng.standard_normal((RACES, 2)) for _ in range(2)]


def test_what_lies_among_the_races_agrees_and_what_lies_beyond_does_not() -> None:
    figures = np.random.default_rng(1).standard_normal((RACES, 3))
    assert with_any(0, figures, np.array([0.5, -0.5, 0.0])).agrees
    odd = with_any(0, figures, np.array([0.0, 6.0, 0.0]))
    assert not odd.agrees
    assert (odd.figure, odd.seen) == (1, 6.0)
    assert (odd.low, odd.high) == pytest.approx((-1.64, 1.64), abs=0.15)


def test_two_figures_that_go_together_may_not_part() -> None:
    """Each may be as it is; both at once may not."""
    score = np.random.default_rng(2).standard_normal((RACES, 1))
    figures = np.hstack([score, score + 0.1])
    figures = figures + 0.05 * np.random.default_rng(3).standard_normal(figures.shape)
    assert not with_any(0, figures, np.array([1.0, -1.0])).agrees


def test_sources_that_contradict_each_other_are_both_told() -> None:
    unit, figures = sources(4)
    learners = learners_without(unit, figures)
    fit = with_others(learners, figures, [np.array([1.0, 1.1]), np.array([1.0, 0.9])])
    assert all(one.agrees for one in fit)
    odd = with_others(learners, figures, [np.array([1.3, 1.3]), np.array([-1.3, -1.3])])
    assert not any(one.agrees for one in odd)
    assert all(with_any(i, figures[i], np.array([1.3, 1.3])).agrees for i in (0, 1))


def test_what_was_learnt_must_give_what_was_seen() -> None:
    """Two figures that no input parts: seen apart, each is possible, and so is their mean; both are not."""
    unit, figures = sources(7)
    learner = learner_of(unit, figures[0])
    for seen, agrees in (([1.0, 1.2], True), ([-0.6, 2.0], False)):
        posterior = learner.posterior(np.array(seen))
        (found,) = with_posterior(posterior, figures[:1], [np.array(seen)])
        assert found.agrees is agrees


def test_one_source_contradicts_nothing() -> None:
    unit, figures = sources(5)
    learners = learners_without(unit, figures[:1])
    assert with_others(learners, figures[:1], [np.array([1.0, 1.0])]) == []


@pytest.mark.slow
def test_what_agrees_is_seldom_called_odd() -> None:
    """60 pairs that are as they should be: at a level of 1 in 100, six of them or fewer in 120 checks.

    Binomial (120, 0.01): seven or more have a chance of 0.0003.
    """
    unit, figures = sources(6)
    known, odd = [each[60:] for each in figures], 0
    learners = learners_without(unit[60:], known)
    for truth in range(60):
        found = with_others(learners, known, [each[truth] for each in figures])
        odd += sum(not one.agrees for one in found)
    assert odd <= 6


def test_nine_of_ten_by_weight() -> None:
    values, weights = np.arange(101.0), np.full(101, 1 / 101)
    assert weighted_ends(values, weights) == pytest.approx((5.0, 95.0), abs=1.0)
    assert weighted_ends(values, np.eye(101)[7]) == (7.0, 7.0)
