"""Does a runner's wished speed wander slowly, about the same mean everywhere?"""

from __future__ import annotations

import numpy as np

from simrun.runners.streams import stream
from simrun.runners.wander import WANDER_STEP_M, draw_wander
from simrun.sources import figure


def test_the_spread_is_the_same_at_the_gun_and_later() -> None:
    drawn = draw_wander(20_000, 40, stream(1, "noise"))
    spread = figure("people.wander_sd").value
    assert drawn.shape == (20_000, 40)
    assert np.max(np.abs(drawn.mean(axis=0) - 1.0)) < 4.5 * spread / np.sqrt(20_000)
    assert np.max(np.abs(drawn.std(axis=0) - spread)) < 4.5 * spread / np.sqrt(40_000)


def test_neighbouring_steps_are_correlated_as_assumed() -> None:
    drawn = draw_wander(20_000, 3, stream(1, "noise"))
    kept = figure("people.wander_correlation").value
    correlation = np.corrcoef(drawn.T)
    error = 4.5 / np.sqrt(20_000)
    assert abs(correlation[0, 1] - kept) < error
    assert abs(correlation[0, 2] - kept**2) < error


def test_no_spread_means_no_wander() -> None:
    assert np.array_equal(draw_wander(5, 9, stream(1, "noise"), sd=0.0), np.ones((5, 9)))


def test_a_longer_course_and_a_larger_field_leave_the_first_as_they_were() -> None:
    few = draw_wander(30, 20, stream(1, "noise"))
    assert np.array_equal(draw_wander(40, 33, stream(1, "noise"))[:30, :20], few)


def test_the_step_is_that_of_the_figure() -> None:
    assert figure("people.wander_step_m").value == WANDER_STEP_M == 50.0
