"""Learning where the answer is known: a line with a known error, by the closed form of the normal."""

from __future__ import annotations

import sys

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.trials.learning.learn_inputs import (
    check_library,
    foretold_by,
    learner_of,
    scores_of,
    stacked,
    unit_of,
)

RACES, ERROR = 2000, 0.5


def invented(seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Three inputs; figures tell the first with an error, the sum of it and the second, and nothing else."""
    rng = np.random.default_rng(seed)
    unit = rng.random((RACES, 3))
    scores = scores_of(unit)
    errors = ERROR * rng.standard_normal((RACES, 2))
    figures = np.column_stack([scores[:, 0], scores[:, 0] + scores[:, 1]]) + errors
    return unit, np.hstack([figures, rng.standard_normal((RACES, 4))])


def known(seen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Mean and covariance of the first two scores after these two figures: normal prior, normal errors."""
    design = np.array([[1.0, 0.0], [1.0, 1.0]])
    spread = np.linalg.inv(np.eye(2) + design.T @ design / ERROR**2)
    return spread @ design.T @ seen / ERROR**2, spread


def test_the_posterior_is_that_of_the_closed_form() -> None:
    """Means, spreads and how they go together; what the figures say nothing of stays as it was."""
    learner = learner_of(*invented())
    assert list(learner.learnt) == [True, True, False]
    for seen in ([0.3, -0.5], [1.0, 1.5], [-1.2, 0.2]):
        figures = np.array([*seen, 0.0, 0.0, 0.0, 0.0])
        draws = scores_of(learner.posterior(figures).draws(1000))
        mean, spread = known(np.array(seen))
        assert draws[:, :2].mean(axis=0) == pytest.approx(mean, abs=0.1)
        assert np.cov(draws[:, :2].T) == pytest.approx(spread, abs=0.06)
        assert draws[:, 2].std() == pytest.approx(1.0, abs=0.12)


def test_figures_that_say_nothing_leave_everything_as_it_was() -> None:
    """Placebo: the figures of other races."""
    unit, figures = invented()
    learner = learner_of(unit, np.random.default_rng(3).permutation(figures))
    assert not learner.learnt.any()
    draws = learner.posterior(figures[0]).draws()
    assert draws.mean(axis=0) == pytest.approx(np.full(3, 0.5), abs=0.07)


def test_no_draw_leaves_its_range() -> None:
    learner = learner_of(*invented())
    draws = learner.posterior(np.array([6.0, 9.0, 0.0, 0.0, 0.0, 0.0])).draws()
    assert ((draws > 0) & (draws < 1)).all()


def test_an_answer_is_foretold_as_far_as_it_can_be() -> None:
    unit, figures = invented()
    scores = scores_of(unit)
    share, _ = foretold_by(figures[:, :1], scores[:, 0])
    assert share == pytest.approx(1 / (1 + ERROR**2), abs=0.03)
    assert foretold_by(figures[:, 2:], scores[:, 0])[0] < 0.01


def test_a_race_without_a_figure_gets_the_middle() -> None:
    table = stacked([[np.array([1.0])], [np.array([np.nan])], [np.array([3.0])]])
    assert table[:, 0].tolist() == [1.0, 2.0, 3.0]
    assert unit_of(scores_of(np.array([0.25]))) == pytest.approx([0.25])


def test_without_the_library_it_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sklearn", None)
    with pytest.raises(BadInput, match=r"scikit-learn is missing; install the extra `learn`"):
        check_library()
