"""The stretched string is the shortest way through the cuts, found by other means as well."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from simrun.course.build import build_strip
from simrun.course.route import Line, line_through, plain_margins, shortest_line, trace
from simrun.course.source import CourseSource, Piece
from simrun.course.string import cuts_of
from simrun.course.strip import MEASURING_MARGIN_M, Side, Strip

Array = Any

LEGS = st.lists(
    st.tuples(
        st.sampled_from([Side.LEFT, Side.RIGHT]),
        st.floats(15, 120),
        st.sampled_from([0.0, 1.0, 4.0, 12.0]),
        st.floats(20, 60),
        st.floats(4, 14),
    ),
    min_size=1,
    max_size=4,
)
STARTS = st.tuples(st.floats(-6, -0.01), st.floats(-5.5, 5.5))


def built(legs: list[tuple[Side, float, float, float, float]], turned: int = 1) -> Strip:
    """Turns one after the other, each with a straight of its own width; -1 turns all sides round."""
    pieces = [Piece("straight", length_m=40.0, width_m=12.0)]
    for side, angle, radius, length, width in legs:
        side = Side(side * turned)
        pieces.append(Piece("turn", side=side, angle_deg=angle, inside_radius_m=radius))
        pieces.append(Piece("straight", length_m=length, width_m=width))
    return build_strip(CourseSource(12.0, 10.0, tuple(pieces)))


def portals(strip: Strip, line: Line) -> tuple[Array, Array]:
    """The ends of what the margin leaves of every cut that the line crosses: (M, 2), (M, 2)."""
    margin, _ = plain_margins(strip.width_m)
    unit = (strip.right_m - strip.left_m) / strip.width_m[:, None]
    left, right = strip.left_m + unit * margin[:, None], strip.right_m - unit * margin[:, None]
    return left[line.cut], right[line.cut]


def length_and_slope(share: Array, start: Array, left: Array, right: Array) -> tuple[float, Array]:
    """Length of the way through `left + share (right - left)`, and its slope by every share."""
    path = np.vstack([start, left + share[:, None] * (right - left)])
    step = np.diff(path, axis=0)
    long = np.hypot(*step.T)
    unit = step / np.maximum(long, 1e-12)[:, None]
    pull = unit - np.vstack([unit[1:], np.zeros(2)])
    return float(long.sum()), (pull * (right - left)).sum(axis=1)


def minimised_m(strip: Strip, start: tuple[float, float]) -> float:
    """The shortest way found by a general minimiser: the length is convex in the shares."""
    line = shortest_line(strip, start)
    left, right = portals(strip, line)
    found = minimize(
        length_and_slope,
        np.full(len(left), 0.5),
        args=(np.array(start), left, right),
        jac=True,
        method="L-BFGS-B",
        bounds=[(0.0, 1.0)] * len(left),
        options={"maxiter": 20000, "maxfun": 40000, "ftol": 1e-15, "gtol": 1e-10, "maxcor": 40},
    )
    return float(found.fun)


@settings(max_examples=10, deadline=None, phases=[Phase.explicit, Phase.generate])
@given(LEGS, STARTS)
@pytest.mark.slow
def test_no_minimiser_finds_a_shorter_way(legs: Any, start: tuple[float, float]) -> None:
    """The string stays in what the margins leave, and a minimiser that knows no strings ends there.

    To the millimetre of a tape from above, never below. Few examples: a minimiser takes seconds.
    """
    strip = built(legs)
    line = shortest_line(strip, start)
    left, right = portals(strip, line)
    across = right - left
    through = ((line.point_m - left) * across).sum(axis=1) / (across * across).sum(axis=1)
    assert (through > -1e-9).all()
    assert (through < 1 + 1e-9).all()
    np.testing.assert_allclose(left + through[:, None] * across, line.point_m, atol=1e-9)
    found = minimised_m(strip, start)
    assert line.length_m <= found + 1e-9
    assert found - line.length_m < 0.001


@settings(max_examples=60, deadline=None)
@given(LEGS, STARTS)
def test_the_string_pulls_nowhere(legs: Any, start: tuple[float, float]) -> None:
    """The condition of a shortest way, exact: where it lies free in a cut it does not bend there, and
    where it lies at an end of a cut it leans on that end.

    The length is convex in the shares, so that a way that meets it at every cut is the shortest.
    """
    strip = built(legs)
    line = shortest_line(strip, start)
    left, right = portals(strip, line)
    across = right - left
    share = ((line.point_m - left) * across).sum(axis=1) / (across * across).sum(axis=1)
    step = np.diff(np.vstack([start, line.point_m]), axis=0)
    assert (np.hypot(*step.T) > 1e-9).all()
    _, slope = length_and_slope(share, np.array(start), left, right)
    assert (slope[share > 1e-7] < 1e-6).all(), "it could go further left and be shorter"
    assert (slope[share < 1 - 1e-7] > -1e-6).all(), "it could go further right and be shorter"


@settings(max_examples=60, deadline=None)
@given(LEGS, STARTS)
def test_the_way_on_from_any_point_of_the_string_is_the_string(
    legs: Any, start: tuple[float, float]
) -> None:
    """Whoever stands on the string has the rest of it before them."""
    strip = built(legs)
    line = shortest_line(strip, start)
    cuts = cuts_of(strip.left_m, strip.right_m)
    margins = plain_margins(strip.width_m)
    at = len(line.cut) // 3
    here = line.point_m[at] + 0.5 * (line.point_m[at + 1] - line.point_m[at])
    cell = int(line.cut[at])
    rest = trace(cuts[cell:], *(m[cell:] for m in margins), tuple(here), strip.finish_cut - cell)
    run = line.along_m[at] + np.hypot(*(here - line.point_m[at]))
    assert run + rest.length_m == pytest.approx(line.length_m, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(LEGS, STARTS, st.floats(0.3, 4))
def test_whoever_keeps_off_the_inside_runs_no_less(
    legs: Any, start: tuple[float, float], off_m: float
) -> None:
    """Taking turns wider is never shorter, and a wider margin at both edges neither."""
    strip = built(legs)
    shortest = shortest_line(strip, start).length_m
    offsets = {gate.name: off_m for gate in strip.gates if gate.kind == "turn"}
    assert line_through(strip, offsets, start).length_m >= shortest - 1e-9
    cuts = cuts_of(strip.left_m, strip.right_m)
    wider = plain_margins(strip.width_m, MEASURING_MARGIN_M + 0.3)
    assert trace(cuts, *wider, start, strip.finish_cut).length_m >= shortest - 1e-9


@settings(max_examples=40, deadline=None)
@given(LEGS, STARTS)
def test_a_mirrored_course_has_the_mirrored_string(legs: Any, start: tuple[float, float]) -> None:
    """Course, stations and string of a course whose turns go the other way, to the last bit."""
    one, other = built(legs), built(legs, turned=-1)
    glass = np.array([1.0, -1.0])
    np.testing.assert_array_equal(one.left_m * glass, other.right_m)
    np.testing.assert_array_equal(one.station_m, other.station_m)
    seen = shortest_line(one, start)
    mirrored = shortest_line(other, (start[0], -start[1]))
    np.testing.assert_array_equal(seen.point_m * glass, mirrored.point_m)
    np.testing.assert_array_equal(seen.along_m, mirrored.along_m)


@settings(max_examples=40, deadline=None)
@given(LEGS, st.floats(-3, 3), st.floats(-500, 500))
def test_a_turned_and_moved_course_is_as_long(legs: Any, angle: float, away: float) -> None:
    """Where a course lies does not matter to its length."""
    strip = built(legs)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    move = np.array([away, -2 * away])
    cuts = cuts_of(strip.left_m @ turn + move, strip.right_m @ turn + move)
    line = trace(cuts, *plain_margins(strip.width_m), tuple(move), strip.finish_cut)
    assert line.length_m == pytest.approx(strip.length_m, abs=1e-6)
