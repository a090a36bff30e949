"""Effort, reserve, wake: the laws of the engine inside, by hand."""

from __future__ import annotations

import math

import pytest

from simrun.laws.reserve import bearable_effort_m_s, effort_m_s, reserve_after_m
from simrun.laws.slope import running_cost_j_kg_m
from simrun.laws.wake import saved_share, shelter
from simrun.sources import figure
from simrun.tactics.pace import kick_speed_m_s

GRAVITY = figure("gravity_m_s2").value


def after_s(seconds: float, effort: float, reserve: float, step_s: float = 0.05) -> float:
    """The reserve after so long at one effort; critical speed 4.6 m/s, 170 m when fresh."""
    for _ in range(round(seconds / step_s)):
        reserve = reserve_after_m(reserve, 170.0, effort, 4.6, 0.0, 1.0, step_s)
    return reserve


def test_400_m_at_5_6_uses_71_4_m() -> None:
    """400 m at 5.6 m/s, critical speed 4.6 m/s: one metre a second for 71.4 s.

    Source: two-parameter critical-speed model, section B of the checks; computed.
    """
    used = 170.0 - after_s(400.0 / 5.6, 5.6, 170.0, step_s=400.0 / 5.6 / 1000)
    entry = figure("energy.used_400_m")
    assert entry.holds(used), entry.against(used)


def test_what_is_missing_comes_back_ever_more_slowly() -> None:
    """missing(t) = missing(0) exp(-rate (critical - effort) t / full), whatever the step."""
    expected = 170.0 - 120.0 * math.exp(-0.6 * 60.0 / 170.0)
    assert after_s(60.0, 4.0, 50.0) == pytest.approx(expected, abs=1e-9)
    assert after_s(60.0, 4.0, 50.0, step_s=1.0) == pytest.approx(expected, abs=1e-9)
    assert after_s(1e5, 4.0, 50.0, step_s=10.0) <= 170.0


def test_gathering_speed_costs_what_a_slope_costs() -> None:
    """1 m/s2 is a slope of 0.102; even running costs its speed; losing speed costs less."""
    dearer = running_cost_j_kg_m(1.0 / GRAVITY) / 3.6
    assert effort_m_s(5.0, 1.0, 1.0, 1.0, GRAVITY) == pytest.approx(5.0 * dearer)
    assert effort_m_s(5.0, 1.0, 1.0, 0.0, GRAVITY) == 5.0
    assert effort_m_s(4.75, 0.0, 0.95, 1.0, GRAVITY) == pytest.approx(5.0)
    assert effort_m_s(5.0, -1.0, 1.0, 1.0, GRAVITY) < 5.0


@pytest.mark.parametrize("slow", [1.0, 2.0, 3.0])
def test_braking_and_starting_again_costs_more_than_it_saves(slow: float) -> None:
    """From 5 m/s down to `slow` at 2 m/s2 and up again: more effort metres than metres run."""
    spent, run, step_s = 0.0, 0.0, 0.001
    for acceleration, begin in ((-2.0, 5.0), (2.0, slow)):
        for k in range(round((5.0 - slow) / 2.0 / step_s)):
            speed = begin + acceleration * (k + 0.5) * step_s
            spent += effort_m_s(speed, acceleration, 1.0, 1.0, GRAVITY) * step_s
            run += speed * step_s
    assert spent > run


def test_the_shelter_is_whole_close_behind_and_nothing_aside() -> None:
    """1 at half a metre, half way down between, 0 beyond, beside and in front."""
    assert shelter(0.5, 0.0, 0.46, 1.0, 2.5) == 1.0
    assert shelter(1.75, 0.0, 0.46, 1.0, 2.5) == pytest.approx(0.5)
    assert shelter(0.5, 0.23, 0.46, 1.0, 2.5) == pytest.approx(0.5)
    assert shelter(2.5, 0.0, 0.46, 1.0, 2.5) == 0.0
    assert shelter(0.5, -0.46, 0.46, 1.0, 2.5) == 0.0
    assert shelter(-0.1, 0.0, 0.46, 1.0, 2.5) == 0.0


def test_what_a_wake_saves_grows_with_the_square_of_the_speed() -> None:
    """4 % of the cost at 6 m/s is air, four fifths of that are saved: 3.2 %, a quarter of it at 3 m/s.

    An input, so this checks our reading only.
    Source: Davies 1980 and Pugh 1971, both as quoted by others; memory.
    """
    air, shielded = figure("wake.air_share").value, figure("wake.shielded_share").value
    assert saved_share(6.0, air, 6.0, shielded) == pytest.approx(0.032)
    assert saved_share(3.0, air, 6.0, shielded) == pytest.approx(0.008)


def test_the_kick_spends_what_is_left_exactly_at_the_finish() -> None:
    """400 m to go, 30 m left, critical speed 4.6: 400 = 4.6 t + 30. Empty: the critical speed."""
    speed = kick_speed_m_s(400.0, 30.0, 4.6, 9.0)
    assert 400.0 / speed * 4.6 + 30.0 == pytest.approx(400.0)
    assert kick_speed_m_s(400.0, 0.0, 4.6, 9.0) == pytest.approx(4.6)
    assert kick_speed_m_s(400.0, 390.0, 4.6, 5.5) == 5.5
    assert kick_speed_m_s(20.0, 30.0, 4.6, 5.5) == 5.5


def test_nobody_empty_runs_above_the_critical_speed() -> None:
    """With nothing left the critical speed, with a little left a little more."""
    assert bearable_effort_m_s(0.0, 4.6, 2.0) == 4.6
    assert bearable_effort_m_s(1.0, 4.6, 2.0) == pytest.approx(5.1)
