"""Does everybody's line lie on the course, in the third it is called after?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.runners.line_choice import (
    CHOICES,
    draw_choices,
    inside_band_m,
    inside_offset_m,
    pull_about,
    with_inside_share,
)
from simrun.runners.streams import stream

SHARES = {"inside": 0.6, "middle": 0.1, "outside": 0.3}


@pytest.mark.parametrize(
    ("choice", "width_m", "low_m", "high_m"),
    [
        ("inside", 12.0, 0.30, 3.0),
        ("inside", 6.0, 0.30, 2.0),
        ("inside", 3.0, 0.30, 1.0),
        ("middle", 12.0, 4.0, 8.0),
        ("outside", 12.0, 8.0, 11.7),
        ("outside", 2.0, 4.0 / 3.0, 1.7),
        ("inside", 1.0, 0.5, 0.5),
        ("outside", 0.5, 0.25, 0.25),
    ],
)
def test_the_band_of_a_line(choice: str, width_m: float, low_m: float, high_m: float) -> None:
    low, high = inside_band_m(choice, width_m)
    assert (float(low), float(high)) == pytest.approx((low_m, high_m))


@given(
    st.sampled_from(CHOICES),
    st.floats(0.01, 200.0),
    st.floats(0.0, 1.0, exclude_max=True),
    st.floats(0.0, 1.0, exclude_max=True),
)
def test_every_line_lies_on_the_course_and_further_out_for_a_larger_draw(
    choice: str, width_m: float, one: float, other: float
) -> None:
    near, far = (float(inside_offset_m(choice, width_m, s)) for s in sorted((one, other)))
    assert 0.0 < near <= far + 1e-12
    assert far < width_m
    if width_m >= 1.0:
        assert near >= 0.30 - 1e-12
        assert far <= width_m - 0.30 + 1e-12


@given(st.floats(0.01, 200.0), st.floats(0.0, 0.999))
def test_inside_is_never_outside_of_outside(width_m: float, share: float) -> None:
    inside, middle, outside = (float(inside_offset_m(c, width_m, share)) for c in CHOICES)
    assert inside <= middle + 1e-12 <= outside + 2e-12


def test_a_line_has_no_jump_where_the_course_narrows() -> None:
    width_m = np.linspace(0.5, 14.0, 13_501)
    for choice in CHOICES:
        offset_m = inside_offset_m(choice, width_m, 0.5)
        assert np.max(np.abs(np.diff(offset_m))) < 0.002


def test_offsets_broadcast_over_runners_and_turns() -> None:
    offset_m = inside_offset_m("inside", np.array([12.0, 3.0]), np.zeros((5, 1)))
    assert offset_m.shape == (5, 2)


def test_choices_come_in_the_shares_asked_for() -> None:
    drawn = draw_choices(SHARES, stream(1, "lines"), (20_000, 2))
    assert drawn.shape == (20_000, 2)
    for choice, share in SHARES.items():
        error = 4.0 * np.sqrt(share * (1.0 - share) / 40_000)
        assert abs(np.mean(drawn == choice) - share) < error


def test_other_shares_move_only_those_between() -> None:
    before = draw_choices(SHARES, stream(1, "lines"), (500, 1))
    shares = {"inside": 0.7, "outside": 0.3}
    after = draw_choices(shares, stream(1, "lines"), (500, 1))
    assert np.array_equal(after[before != "middle"], before[before != "middle"])
    assert set(after[before == "middle"]) == {"inside"}


def test_another_turn_or_runner_leaves_all_other_choices_alone() -> None:
    few = draw_choices(SHARES, stream(1, "lines"), (40, 3))
    assert np.array_equal(draw_choices(SHARES, stream(1, "lines"), (60, 4))[:40, :3], few)


def test_a_share_of_nought_is_never_drawn() -> None:
    assert set(draw_choices({"outside": 1.0}, stream(1, "lines"), (500, 2)).ravel()) == {"outside"}


@pytest.mark.parametrize(
    ("shares", "said"),
    [
        ({"inside": 0.5, "outside": 0.4}, "sum 0.9"),
        ({"inside": 1.5, "outside": -0.5}, "shares of 0 to 1"),
        ({"inside": float("nan")}, "sum nan"),
        ({"insdie": 1.0}, "did you mean 'inside'"),
    ],
)
def test_wrong_shares_are_refused(shares: dict[str, float], said: str) -> None:
    with pytest.raises(BadInput) as caught:
        draw_choices(shares, stream(1, "lines"), (3, 1))
    assert said in str(caught.value)


def test_an_unknown_line_names_the_nearest() -> None:
    with pytest.raises(BadInput, match=r"line: 'midle'; .*did you mean 'middle'"):
        inside_offset_m("midle", 12.0, 0.5)


@pytest.mark.parametrize("inside", [0.0, 0.3, 0.6, 1.0])
def test_another_share_inside_leaves_the_proportion_of_the_rest(inside: float) -> None:
    shares = with_inside_share(SHARES, inside)
    assert sum(shares.values()) == pytest.approx(1.0)
    assert shares["inside"] == inside
    assert 3 * shares["middle"] == pytest.approx(shares["outside"])
    assert with_inside_share({"inside": 1.0}, 0.5) == {
        "inside": 0.5,
        "middle": 0.25,
        "outside": 0.25,
    }


@pytest.mark.parametrize("mean", [0.0, 0.2, 0.65, 0.9, 1.0])
def test_a_range_of_pulls_is_moved_to_its_new_mean(mean: float) -> None:
    low, high = pull_about(0.3, 1.0, mean)
    assert 0.0 <= low <= high <= 1.0
    assert (low + high) / 2 == pytest.approx(mean)
    assert pull_about(0.3, 1.0, 0.65) == (0.3, 1.0)
