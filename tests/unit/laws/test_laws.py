"""The laws one by one, each against a hand calculation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.laws.anticipate import NEVER_S, anticipation_m_s2, collision_time_s
from simrun.laws.bend import (
    bend_share,
    bend_speed_m_s,
    free_beside_m,
    rounding_lead_m,
    rounding_radius_m,
    speed_before_bend_m_s,
)
from simrun.laws.contact import grains, impulse_m_s, push_apart_m
from simrun.laws.follow import (
    following_acceleration_m_s2,
    free_gap_m,
    in_the_way,
    kept_time_s,
    sway_margin_m,
    wished_gap_m,
)
from simrun.laws.grip import shared_grip
from simrun.laws.set_off import set_off_wait_s, wait_after_step_s
from simrun.laws.settings import settings_of

SPEED = st.floats(0, 9)


def test_wished_gap_by_hand() -> None:
    """0.05 + 0.45 x 4 at equal speeds; closing in at 2 m/s adds 4 x 2 / (2 x 3); never below s0."""
    assert wished_gap_m(4.0, 0.0, 0.05, 0.45, 3.0) == pytest.approx(1.85)
    assert wished_gap_m(4.0, 2.0, 0.05, 0.45, 3.0) == pytest.approx(1.85 + 8 / 6)
    assert wished_gap_m(4.0, -9.0, 0.05, 0.45, 3.0) == 0.05


def test_the_time_kept_by_hand() -> None:
    """0.45 s up to 70 % of the wish; 0.8 m, so 0.8 / 4.8 s, from 90 % on; the middle of both between; who
    stands keeps 0.45 s of nothing; nobody who is faster is kept further off."""

    def kept(speed: float, other: float, wished: float) -> float:
        return kept_time_s(speed, other, wished, 0.45, 0.8, 0.7, 0.9)

    assert kept(3.5, 3.5, 5.0) == pytest.approx(0.45)
    assert kept(4.8, 4.6, 5.0) == kept(4.8, 9.0, 5.0) == pytest.approx(0.8 / 4.8)
    assert kept(4.0, 4.0, 5.0) == pytest.approx((0.45 + 0.2) / 2)
    assert kept(0.0, 0.0, 0.0) == kept(1.0, 5.0, 5.0) == pytest.approx(0.45)


def test_following_keeps_still_at_the_wished_gap() -> None:
    """At the wished gap the acceleration is 0, at half of it -3 a, far away a."""
    assert following_acceleration_m_s2(1.85, 1.85, 4.0) == 0.0
    assert following_acceleration_m_s2(0.925, 1.85, 4.0) == pytest.approx(-12.0)
    assert following_acceleration_m_s2(1e6, 1.85, 4.0) == pytest.approx(4.0)


@given(SPEED, SPEED, st.floats(0.05, 30), st.floats(0.05, 30))
def test_a_shorter_gap_never_speeds_up(
    speed: float, closing: float, gap: float, shorter: float
) -> None:
    """Following is monotone in the gap."""
    wish = wished_gap_m(speed, closing, 0.05, 0.45, 3.0)
    low, high = sorted((gap, shorter))
    slow = following_acceleration_m_s2(low, wish, 4.0)
    assert slow <= following_acceleration_m_s2(high, wish, 4.0)


def test_who_is_in_the_way() -> None:
    """In front: fully; a body's width and the sway to the side: not at all; half way: half."""
    assert in_the_way(0.0, 0.46, 0.2, 0.5) == 1.0
    assert in_the_way(0.66, 0.46, 0.2, 0.5) == 0.0
    assert in_the_way((0.23 + 0.66) / 2, 0.46, 0.2, 0.5) == pytest.approx(0.5)
    assert in_the_way((0.115 + 0.66) / 2, 0.46, 0.2, 0.25) == pytest.approx(0.5)
    assert in_the_way(-0.4, 0.46, 0.2, 0.25) == in_the_way(0.4, 0.46, 0.2, 0.25)
    assert sway_margin_m(5.0, 0.05, 0.03) == pytest.approx(0.20)


def test_free_gap_of_two_discs() -> None:
    """Straight behind: the distance less both radii; offset by 3-4-5: less the chord; half in the way: half
    of the width more; beside: the whole of it; never nothing."""
    assert free_gap_m(3.0, 0.0, 0.5, 1.0) == pytest.approx(2.5)
    assert free_gap_m(3.0, 0.3, 0.5, 1.0) == pytest.approx(3.0 - 0.4)
    assert free_gap_m(3.0, 0.3, 0.5, 0.5) == pytest.approx(3.0 - 0.4 + 0.25)
    assert free_gap_m(3.0, -0.6, 0.5, 0.0) == pytest.approx(3.5)
    assert free_gap_m(0.2, 0.0, 0.5, 1.0) == 0.01


def test_the_gap_seen_grows_without_a_jump_to_the_side() -> None:
    """Gap wished and gap seen together, from in front to clear, at 4 m/s: no step of a hand's width."""
    aside = np.linspace(0.0, 0.7, 701)
    weight = [in_the_way(y, 0.46, 0.17, 0.25) for y in aside]
    seen = [free_gap_m(2.0, y, 0.46, w) for y, w in zip(aside, weight, strict=True)]
    assert (np.diff(seen) >= 0.0).all()
    assert np.diff(seen).max() < 0.05


@pytest.mark.parametrize(
    ("radius", "lost"), [(2.0, 0.14), (3.0, 0.085), (5.0, 0.039), (10.0, 0.0115)]
)
def test_bend_at_five_metres_a_second(radius: float, lost: float) -> None:
    """The design's own figures at 5 m/s: 14, 8.5, 3.9 and 1.15 % on radii 2, 3, 5 and 10 m."""
    assert 1 - bend_share(5.0, radius, 0.375, 9.81) == pytest.approx(lost, abs=0.006)


def test_bend_share_is_its_own_solution() -> None:
    """The repeated formula has come to rest: putting the answer in gives it out again to 1e-4."""
    for radius in (2.0, 3.0, 5.0, 36.8):
        share = bend_share(5.0, radius, 0.375, 9.81)
        pull = (share * 5.0) ** 2 / (9.81 * radius)
        assert share == pytest.approx(1 - 0.375 * (math.sqrt(1 + pull * pull) - 1), abs=1e-3)


def test_rounding_a_right_angle() -> None:
    """R = r + room c/(1 - c) with c = cos 45; the arc begins room c s/(1 - c) before the turn."""
    c = math.cos(math.pi / 4)
    assert rounding_radius_m(0.3, c, 1.2) == pytest.approx(0.3 + 1.2 * c / (1 - c))
    assert rounding_lead_m(c, 1.2) == pytest.approx(1.2 * c * c / (1 - c))
    assert rounding_radius_m(0.3, 0.0, 1.2) == 0.3
    assert rounding_radius_m(0.3, 1.0, 1.2) > 1e5


def test_bend_speed_is_the_lesser_of_effort_and_grip() -> None:
    """On 3 m the grip of 3.5 m/s2 allows sqrt(10.5); on 500 m neither binds."""
    assert bend_speed_m_s(5.0, 3.0, 3.5, 0.375, 9.81) == pytest.approx(math.sqrt(10.5))
    assert bend_speed_m_s(5.0, 500.0, 3.5, 0.375, 9.81) == 5.0
    assert speed_before_bend_m_s(3.0, 3.2, 2.5) == pytest.approx(5.0)
    assert speed_before_bend_m_s(3.0, -1.0, 2.5) == 3.0


def test_collision_time_by_hand() -> None:
    """Head on from 5 m at 2 m/s with bodies of 1 m: 2 s. Apart, beside or touching: never."""
    assert collision_time_s(5.0, 0.0, -2.0, 0.0, 1.0) == pytest.approx(2.0)
    assert collision_time_s(5.0, 0.0, 2.0, 0.0, 1.0) == NEVER_S
    assert collision_time_s(5.0, 1.5, -2.0, 0.0, 1.0) == NEVER_S
    assert collision_time_s(0.5, 0.0, -2.0, 0.0, 1.0) == NEVER_S


@given(st.floats(0.15, 5), st.floats(0.15, 5))
def test_a_nearer_collision_pushes_harder(one: float, other: float) -> None:
    """Minus the slope of (k/t^2) exp(-t/t0) falls with time; checked against a difference quotient."""
    near, far = sorted((one, other))
    assert anticipation_m_s2(near, 1.5, 3.0) >= anticipation_m_s2(far, 1.5, 3.0)

    def energy(t: float) -> float:
        return 1.5 / (t * t) * math.exp(-t / 3.0)

    slope = (energy(one - 1e-6) - energy(one + 1e-6)) / 2e-6
    assert anticipation_m_s2(one, 1.5, 3.0) == pytest.approx(slope, rel=1e-4)


def test_grip_is_shared_on_an_ellipse() -> None:
    """Full braking leaves nothing for the side; both at 60 and 80 % are just allowed; more is scaled."""
    assert shared_grip(-6.0, 0.0, 4.5, 6.0, 3.5) == 1.0
    assert shared_grip(-3.6, 2.8, 4.5, 6.0, 3.5) == pytest.approx(1.0)
    assert shared_grip(-6.0, 3.5, 4.5, 6.0, 3.5) == pytest.approx(1 / math.sqrt(2))
    assert shared_grip(4.5, 3.5, 4.5, 6.0, 3.5) == pytest.approx(1 / math.sqrt(2))


def test_contact() -> None:
    """Each moves half of the overlap and loses half of the approach; sliding never turns round."""
    assert push_apart_m(0.40, 0.46) == pytest.approx(0.03)
    assert push_apart_m(0.50, 0.46) == 0.0
    assert impulse_m_s(2.0, 0.0, 0.2) == (1.0, 0.0)
    assert impulse_m_s(2.0, 0.1, 0.2) == (1.0, pytest.approx(0.05))
    assert impulse_m_s(2.0, -3.0, 0.2) == (1.0, pytest.approx(-0.2))
    assert impulse_m_s(-1.0, 3.0, 0.2)[0] == 0.0
    assert grains(-0.25) == -grains(0.25)


def test_setting_off_again() -> None:
    """Behind somebody who stands the wait starts anew; it passes once that one has gone; 0.35 s and 0.45 s
    for every metre."""
    assert set_off_wait_s(1.0, 0.35, 0.45) == pytest.approx(0.8)
    wait = wait_after_step_s(0.0, 0.8, 0.05)
    assert wait == pytest.approx(0.8)
    assert wait_after_step_s(wait, 0.8, 0.05) == wait
    assert wait_after_step_s(wait, 0.0, 0.05) == pytest.approx(0.75)
    assert wait_after_step_s(0.0, 0.0, 0.05) == 0.0
    assert wait_after_step_s(2.0, 0.8, 0.05) == pytest.approx(1.95)


@pytest.mark.parametrize("kind", [np.float32, np.float64])
@pytest.mark.parametrize(
    ("wait_s", "step_s", "steps"), [(0.35, 0.05, 7), (0.35, 0.1, 4), (60, 0.05, 1200)]
)
def test_waiting_is_counted_in_whole_steps(
    wait_s: float, step_s: float, steps: int, kind: type
) -> None:
    """Seven steps of 0.05 s are 0.35 s in either precision; half a step more is a step more."""
    wait, count = float(kind(wait_s)), 0
    while wait > 0.0:
        wait, count = float(kind(wait_after_step_s(wait, 0.0, step_s))), count + 1
    assert count == steps


def test_the_room_beside_at_a_post() -> None:
    """Alone the whole of it; what is free between two bodies less the sway; never less than the least."""
    assert free_beside_m(5.0, 0.46, 0.1, 0.2, 1.2) == 1.2
    assert free_beside_m(1.06, 0.46, 0.1, 0.2, 1.2) == pytest.approx(0.5)
    assert free_beside_m(0.5, 0.46, 0.1, 0.2, 1.2) == 0.2


def test_settings_of_runners_and_walkers_differ() -> None:
    """One set of laws, two sets of numbers, each out of the sources."""
    runner, walker = settings_of("runner"), settings_of("walker")
    assert (runner.following_time_s, runner.start_constant_s) == (0.45, 1.2)
    assert walker.following_time_s > runner.following_time_s
    assert walker.start_constant_s == 0.5
