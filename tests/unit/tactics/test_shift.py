"""A line that is taken over to the side while somebody is in it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.tactics.shift import shifted_m

OVER_S, BACK_S = 1.0, 15.0


def after(seconds: float, offset_m: float, shift_m: float = 0.0, look_s: float = 0.2) -> float:
    """The shift after so many seconds of one and the same choice."""
    for _ in range(round(seconds / look_s)):
        shift_m = shifted_m(shift_m, offset_m, look_s, OVER_S, BACK_S)
    return shift_m


def test_going_round_takes_the_line_over_in_the_time_told() -> None:
    """A track 1.2 m to the right, kept for a second: the whole line lies 1.2 m to the right."""
    assert after(OVER_S, 1.2) == pytest.approx(1.2)


def test_a_free_line_comes_back() -> None:
    """After `back` 1/e is left, after five times that nothing to speak of; it never overshoots."""
    assert after(BACK_S, 0.0, 3.0) == pytest.approx(3.0 / 2.718, rel=0.02)
    assert 0.0 <= after(5 * BACK_S, 0.0, 3.0) < 0.03
    assert shifted_m(3.0, 0.0, 60.0, OVER_S, BACK_S) == 0.0


@given(st.floats(-5, 5), st.floats(-3, 3), st.sampled_from([0.05, 0.1, 0.2]))
def test_left_and_right_are_alike_to_the_last_bit(shift: float, offset: float, look: float) -> None:
    """Mirrored, the shift is mirrored."""
    there = shifted_m(shift, offset, look, OVER_S, BACK_S)
    assert shifted_m(-shift, -offset, look, OVER_S, BACK_S) == -there


def test_the_look_up_interval_changes_little() -> None:
    """Half the interval, the same second: within 1 %."""
    assert after(3.0, 0.0, 2.0, 0.1) == pytest.approx(after(3.0, 0.0, 2.0, 0.2), rel=0.01)
