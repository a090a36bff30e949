"""From pieces to a Strip: marks, checkpoints on cuts, and courses that cannot be run."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.build import BODY_ROOM_M, build_strip, check_cuts
from simrun.course.source import CourseSource, Piece
from simrun.course.strip import EdgeKind, Mark, Place, Side, Strip, with_cut_at
from simrun.course.surface import SURFACES, footing_share

FIELD = Piece("straight", "field", 100.0, 20.0)
TURN = Piece("turn", "elm", side=Side.LEFT, angle_deg=90, inside_radius_m=5)
LANE = Piece("straight", "lane", 60.0, surface="mud", climb_m=3, right_edge=EdgeKind.BARRIER)


def build(*pieces: Piece, **options: Any) -> Strip:
    return build_strip(CourseSource(20.0, 10.0, pieces, **options))


def test_every_row_has_the_length_its_cuts_or_cells_ask_for() -> None:
    """K values a cut, K - 1 a cell, also after cuts were put in for checkpoints and approaches."""
    strip = build(FIELD, TURN, LANE, checkpoints=(Mark("a", 33.0), Mark("b", 150.0)))
    of_cells = {"footing", "left_edge", "right_edge", "section"}
    for column in fields(strip):
        values = getattr(strip, column.name)
        if isinstance(values, np.ndarray) and column.name != "obstacles_m":
            assert len(values) == len(strip.left_m) - (column.name in of_cells), column.name
    assert (np.diff(strip.station_m) > 0).all()


def test_checkpoints_stand_on_cuts_in_the_order_of_the_race() -> None:
    """Written the wrong way round; also inside the turn."""
    marks = (Mark("late", 150.0), Mark("in the turn", 103.3), Mark("soon", 33.0))
    strip = build(FIELD, TURN, LANE, checkpoints=marks, landmarks=(Mark("y", 90.0), Mark("x", 5)))
    assert [mark.name for mark in strip.checkpoints] == ["soon", "in the turn", "late"]
    assert [mark.name for mark in strip.landmarks] == ["x", "y"]
    stations = [mark.station_m for mark in strip.checkpoints]
    np.testing.assert_allclose(strip.station_m[strip.checkpoint_cuts()], stations, atol=1e-9)


def test_a_course_without_checkpoints_has_its_finish() -> None:
    """And one that is written a hand beyond the measured line is moved onto it."""
    assert build(FIELD).checkpoints == (Mark("finish", 100.0),)
    strip = build(FIELD, checkpoints=(Mark("tape", 100.4),))
    assert strip.checkpoints == (Mark("tape", 100.0),)
    assert strip.checkpoint_cuts().tolist() == [strip.finish_cut]


@pytest.mark.parametrize("at_m", [0.0, -5.0, 100.6, 1609.0, float("nan"), float("inf")])
@pytest.mark.parametrize("what", ["checkpoints", "landmarks"])
def test_a_mark_off_the_course_is_refused_by_name(what: str, at_m: float) -> None:
    """One line: the mark, where it was wanted, how long the course is."""
    with pytest.raises(BadInput) as caught:
        build(FIELD, **{what: (Mark("mile", at_m),)})
    text = str(caught.value)
    assert "'mile'" in text
    assert "from 0 to 100.0 m" in text
    assert "\n" not in text


@pytest.mark.parametrize("width_m", [0.59, 0.3, 0.05])
def test_narrower_than_a_body_is_refused_with_its_place(width_m: float) -> None:
    """BODY_ROOM_M and not a centimetre less."""
    with pytest.raises(BadInput, match=rf"{width_m:.2f} m wide at 101 m.*at least 0.6 m"):
        build(FIELD, Piece("trail", "slit", 30.0, width_m))
    assert build(FIELD, Piece("trail", "slit", 30.0, BODY_ROOM_M)).length_m == pytest.approx(130)


def test_a_width_that_is_no_number_is_refused() -> None:
    """nan is not at least 0.6."""
    strip = build(FIELD)
    left = strip.left_m.copy()
    left[2] = np.nan
    with pytest.raises(BadInput, match="one body"):
        check_cuts(replace(strip, left_m=left))


def test_edges_that_cross_are_refused() -> None:
    """A cut whose right end lies behind the cut before it."""
    strip = build(FIELD, TURN, LANE)
    right = strip.right_m.copy()
    cut = strip.gates[0].first_cut
    right[cut] = right[cut - 1] - np.array([3.0, 0.0])
    with pytest.raises(BadInput, match="edges cross"):
        check_cuts(replace(strip, right_m=right))
    check_cuts(strip)


def test_surfaces_slow_as_their_figures_say() -> None:
    """Of the cells of a piece and of no other; every surface has a figure between 0 and 1."""
    strip = build(FIELD, TURN, LANE)
    lane = strip.section == 2
    assert set(strip.footing[lane]) == {footing_share("mud")}
    assert set(strip.footing[~lane]) == {footing_share("grass")}
    assert strip.section_names == ("field", "elm", "lane")
    assert all(0 < footing_share(surface) <= 1 for surface in SURFACES)


@pytest.mark.parametrize("at_m", [-4.0, 37.0, 104.0, 150.0, 185.0])
def test_a_new_cut_changes_nothing_but_the_number_of_cuts(at_m: float) -> None:
    """On the apron, in the field, in the turn, in the lane, in the run-out."""
    strip = build(FIELD, TURN, LANE)
    more = with_cut_at(strip, at_m)
    new = int(np.abs(more.station_m - at_m).argmin())
    assert len(more.left_m) == len(strip.left_m) + 1
    assert more.length_m == strip.length_m
    for name in ("left_m", "right_m", "station_m", "height_m"):
        np.testing.assert_array_equal(np.delete(getattr(more, name), new, axis=0),
                                      getattr(strip, name))  # fmt: skip
    for name in ("bend_side", "bend_radius_m", "bend_angle_rad", "gate_of_cut"):
        np.testing.assert_array_equal(np.delete(getattr(more, name), new), getattr(strip, name))
    for name in ("footing", "left_edge", "right_edge", "section"):
        cell = getattr(more, name)
        np.testing.assert_array_equal(np.delete(cell, new), getattr(strip, name))
        assert cell[new] == cell[new - 1]
    for before, after in zip(strip.gates, more.gates, strict=True):
        np.testing.assert_array_equal(more.left_m[after.first_cut], strip.left_m[before.first_cut])
        np.testing.assert_array_equal(more.left_m[after.last_cut], strip.left_m[before.last_cut])
    inside = strip.gates[0].first_cut < new <= strip.gates[0].last_cut
    assert (more.gate_of_cut[new] == 0) == inside
    assert (more.bend_side[new] != 0) == inside
    assert with_cut_at(more, at_m) is more, "a cut that stands is not laid again"


@pytest.mark.parametrize("at_m", [-11.0, 500.0])
def test_no_cut_off_the_ground(at_m: float) -> None:
    """Before the apron, behind the run-out."""
    with pytest.raises(BadInput, match="no ground"):
        with_cut_at(build(FIELD), at_m)


def test_points_and_the_frame_they_were_drawn_in() -> None:
    """A station and a share are a point; a quarter turn and a move bring it to the world."""
    strip = build(FIELD)
    assert strip.point_at(30.0) == pytest.approx((30.0, 0.0))
    assert strip.point_at(30.0, 0.0) == pytest.approx((30.0, 10.0))
    assert strip.point_at(30.0, 1.0) == pytest.approx((30.0, -10.0))
    there = replace(strip, place=Place((100.0, 200.0), np.pi / 2))
    np.testing.assert_allclose(there.to_world(np.array([30.0, 10.0])), [90.0, 230.0])
    np.testing.assert_allclose(
        there.to_world(np.zeros((4, 3, 2))), np.tile([100.0, 200.0], (4, 3, 1))
    )
