"""Which way is headed for, on a lane that turns left by a right angle about (20, 5)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.course.string import cuts_of
from simrun.tactics.aim import aim_on_string, lengthened, toward

LEFT = np.array([[0, 5], [10, 5], [20, 5], [20, 5], [20, 5], [20, 15], [20, 60]], dtype=float)
RIGHT = np.array([[0, -5], [10, -5], [20, -5], [30, -5], [30, 5], [30, 15], [30, 60]], dtype=float)
CUTS = cuts_of(LEFT, RIGHT)
MIRRORED = cuts_of(RIGHT * [1.0, -1.0], LEFT * [1.0, -1.0])
MARGIN = np.full(len(LEFT), 0.30)
DIAGONAL = 0.30 / math.sqrt(2)

BEFORE_THE_TURN = st.tuples(st.floats(0.0, 19.9), st.floats(-4.7, 4.7))
REACH = st.floats(1.0, 60.0)


def aim(x: float, y: float, reach_m: float, left: np.ndarray = MARGIN) -> tuple[float, float]:
    return aim_on_string(x, y, int(x // 10), reach_m, CUTS, left, MARGIN, 0.0 * MARGIN, 0.0)


def test_the_next_bend_is_headed_for_however_far_it_is() -> None:
    """From (0, 0) the string bends first 0.30 m below the corner, 20 m on: a reach of 5 m takes that."""
    assert aim(0.0, 0.0, 5.0) == pytest.approx((20.0, 4.7))


def test_who_was_pushed_aside_heads_straight_for_the_next_bend() -> None:
    """From (18, -4), far off the string of the others, straight to the corner and not back to it."""
    assert aim(18.0, -4.0, 1.0) == pytest.approx((20.3, 5.0))


def test_beyond_a_near_bend_the_way_goes_on_along_the_string() -> None:
    """Half a metre before the corner a reach of 5 m lies on the next straight; the corner hides it."""
    x, y = aim(20.0 - 0.5, 4.7, 5.0)
    assert (x, y) == pytest.approx((20.0, 4.7))


def test_past_the_turn_the_string_runs_straight_to_the_end() -> None:
    """Beyond the last bend it is straight on, square to the last cut."""
    assert aim_on_string(
        24.0, 10.0, 4, 5.0, CUTS, MARGIN, MARGIN, 0.0 * MARGIN, 0.0
    ) == pytest.approx((24.0, 60.0))


def test_what_can_be_seen_beyond_the_bend_is_headed_for() -> None:
    """6 m off the inside the next straight is in sight: two legs between the ends of three cuts 45
    degrees apart, 2 * 6 * sin 22.5 each, and 2 m up it."""
    wide = MARGIN.copy()
    wide[2:5] = 6.0
    legs_m = 2 * 2 * 6.0 * math.sin(math.pi / 8)
    seen = aim_on_string(20.0, -1.0, 2, legs_m + 2.0, CUTS, wide, MARGIN, 0.0 * MARGIN, 0.0)
    assert seen == pytest.approx((26.0, 7.0))


def test_a_wide_line_is_headed_for() -> None:
    """Who keeps 6 m off the inside at the turn heads for a point 6 m off the corner."""
    wide = MARGIN.copy()
    wide[2:5] = 6.0
    x, y = aim(0.0, 0.0, 5.0, wide)
    assert math.hypot(x - 20.0, y - 5.0) == pytest.approx(6.0)


@given(BEFORE_THE_TURN, REACH)
def test_nobody_heads_through_the_corner(at: tuple[float, float], reach_m: float) -> None:
    """The way to the aim stays off the corner by the 0.30 m, less what three ends of cuts, 45 degrees
    apart, leave between them: cos 22.5."""
    to = np.array(aim(*at, reach_m))
    start, corner = np.array(at), np.array([20.0, 5.0])
    part = np.clip((corner - start) @ (to - start) / ((to - start) @ (to - start)), 0.0, 1.0)
    away = np.hypot(*(start + part * (to - start) - corner))
    closest = min(away, np.hypot(*(start - corner)))
    assert closest >= min(0.30 * math.cos(math.pi / 8), np.hypot(*(start - corner))) - 1e-9


@given(BEFORE_THE_TURN, REACH)
def test_a_mirrored_lane_gives_the_mirrored_aim(at: tuple[float, float], reach_m: float) -> None:
    """To the last bit: left and right are treated alike."""
    x, y = at
    seen = aim_on_string(x, y, int(x // 10), reach_m, CUTS, MARGIN, MARGIN, 0.0 * MARGIN, 0.0)
    glass = aim_on_string(x, -y, int(x // 10), reach_m, MIRRORED, MARGIN, MARGIN, 0.0 * MARGIN, 0.0)
    assert seen == (glass[0], -glass[1])


def test_the_direction_to_the_aim() -> None:
    """3-4-5 by hand; on the spot itself, straight ahead through the cell."""
    assert toward(1.0, 1.0, 4.0, 5.0, CUTS, 0) == pytest.approx((0.6, 0.8))
    assert toward(1.0, 1.0, 1.0, 1.0, CUTS, 0) == pytest.approx((1.0, 0.0))
    assert toward(25.0, 9.0, 25.0, 9.0, CUTS, 4) == pytest.approx((0.0, 1.0))


def test_an_aim_is_a_direction() -> None:
    """A millimetre away it is half a metre away in the same direction; further off it stays where it is."""
    assert lengthened(1.0, 2.0, 1.0006, 2.0008, 0.5) == pytest.approx((1.3, 2.4))
    assert lengthened(1.0, 2.0, 1.0, 2.6, 0.5) == (1.0, 2.6)
    assert lengthened(1.0, 2.0, 1.0, 2.0, 0.5) == (1.0, 2.0)
