"""The stretched string against drawings by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.course.route import Strings, plain_margins, trace
from simrun.course.string import cuts_of, first_bend, shifted_margins_m, string_path
from simrun.scenario.reader import read


def gates(*middles_and_halves: tuple[float, float, float]) -> np.ndarray:
    """Cuts across x at the given x, middle y and half width: records."""
    left = np.array([[x, y + half] for x, y, half in middles_and_halves])
    right = np.array([[x, y - half] for x, y, half in middles_and_halves])
    return cuts_of(left, right)


def none(count: int) -> tuple[np.ndarray, np.ndarray]:
    return np.zeros(count), np.zeros(count)


def test_nothing_in_the_way_goes_straight_on() -> None:
    """An even corridor: straight on to the last cut, square to it."""
    cuts = gates((0, 0, 5), (10, 0, 5), (20, 0, 5))
    assert first_bend(0.0, 2.0, 0, 2, cuts, *none(3), np.zeros(3), 0.0) == (20.0, 2.0, 2)


def test_the_string_bends_about_the_end_that_closes_the_cone() -> None:
    """A gap down to the right, then one up to the left: the two ends by hand."""
    cuts = gates((0, 0, 9), (10, -4, 1), (20, 4, 1), (30, 4, 1))
    points, bends = string_path(0.0, 0.0, 0, 3, cuts, *none(4))
    np.testing.assert_allclose(points, [[0, 0], [10, -3], [20, 3], [30, 3]])
    assert bends.tolist() == [0, 1, 2, 3]
    line = trace(cuts, *none(4), (0.0, 0.0), 3)
    assert line.length_m == pytest.approx(math.hypot(10, 3) + math.hypot(10, 6) + 10)


def test_a_margin_keeps_the_string_off_the_end() -> None:
    """Half a metre off the right end of the only gap."""
    cuts = gates((0, 0, 9), (10, 4, 1), (20, 0, 9))
    margin = np.full(3, 0.5)
    assert first_bend(0.0, 0.0, 0, 2, cuts, margin, margin, np.zeros(3), 0.0)[:2] == (10.0, 3.5)


def test_a_shifted_string_passes_the_end_further_off() -> None:
    """The same gap, the string taken over by 0.4 m to the left: 0.4 m further off the right end."""
    cuts = gates((0, 0, 9), (10, 8, 5), (20, 0, 9))
    margin, gives = np.full(3, 0.5), np.full(3, 7.0)
    assert first_bend(0.0, 0.0, 0, 2, cuts, margin, margin, gives, -0.4)[:2] == (10.0, 3.9)
    assert first_bend(0.0, 0.0, 0, 2, cuts, margin, margin, gives, 0.4)[:2] == (10.0, 3.5)


def test_a_shift_stops_where_a_way_must_stay_open() -> None:
    """10 m of which 3 m stay open: at most 3 m to either side; on a boardwalk nothing."""
    assert shifted_margins_m(0.5, 0.5, 7.0, 2.0) == (2.5, 0.5)
    assert shifted_margins_m(0.5, 0.5, 7.0, 99.0) == (3.5, 0.5)
    assert shifted_margins_m(0.5, 0.5, 7.0, -99.0) == (0.5, 3.5)
    assert shifted_margins_m(0.3, 0.3, 0.0, 99.0) == (0.3, 0.3)


coordinates = st.tuples(st.floats(-3, 3), st.floats(0.5, 4))


@given(st.lists(coordinates, min_size=2, max_size=8), st.floats(-0.4, 0.4))
def test_no_way_through_the_cuts_is_shorter(shape: list[tuple[float, float]], y: float) -> None:
    """Moving any crossing point a little, inside its cut, never shortens the string."""
    cuts = gates(*((5.0 * k, m, h) for k, (m, h) in enumerate([(0.0, 0.5), *shape])))
    last = len(cuts) - 1
    line = trace(cuts, *none(last + 1), (0.0, y), last)
    path = np.vstack([[0.0, y], line.point_m])

    def long(points: np.ndarray) -> float:
        return float(np.hypot(*np.diff(points, axis=0).T).sum())

    for k in range(1, last + 1):
        for off in (-0.01, 0.01):
            moved = path.copy()
            low, high = cuts["right_y"][k], cuts["left_y"][k]
            moved[k, 1] = np.clip(moved[k, 1] + off, low, high)
            assert long(moved) >= long(path) - 1e-9


@given(st.lists(coordinates, min_size=2, max_size=8), st.floats(-0.4, 0.4))
def test_the_mirrored_string_is_the_mirror_of_the_string(
    shape: list[tuple[float, float]], y: float
) -> None:
    """To the last bit."""
    cells = [(0.0, 0.5), *shape]
    cuts = gates(*((5.0 * k, m, h) for k, (m, h) in enumerate(cells)))
    other = gates(*((5.0 * k, -m, h) for k, (m, h) in enumerate(cells)))
    last = len(cells) - 1
    one, _ = string_path(0.0, y, 0, last, cuts, *none(last + 1))
    two, _ = string_path(0.0, -y, 0, last, other, *none(last + 1))
    np.testing.assert_array_equal(one * np.array([1.0, -1.0]), two)


@pytest.mark.parametrize("name", ["brindle_fen", "sallow_heath"])
def test_plain_and_compiled_strings_are_the_same(name: str) -> None:
    """From many places, to two cuts in turn, so that what is remembered is asked again: to the last bit."""
    strip = read(Path(__file__).parents[3] / "scenarios" / f"{name}.toml").strip
    cuts, margins = cuts_of(strip.left_m, strip.right_m), plain_margins(strip.width_m)
    strings = Strings(cuts, *margins)
    begins = [(float(x), float(y)) for x in (0.0, -2.5) for y in np.linspace(-20, 20, 9)]
    for last in (strip.finish_cut, strip.finish_cut // 2, strip.finish_cut):
        for begin in begins:
            points, bends = strings.plain_bends(begin, 1, last)
            told = string_path(*begin, 1, last, cuts, *margins)
            assert points.tobytes() == told[0].tobytes()
            assert bends.tobytes() == told[1].tobytes()
