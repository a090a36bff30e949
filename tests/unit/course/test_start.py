"""The start line: boxes, rows, places, the arc, and where the gun stands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simrun.course.start import ROW_OFFSET_M, StartSpec, bow_m, build_start_line, paint_m

STRAIGHT = StartSpec(60.0, "straight", None, 2.5, 24, 3, row_gap_m=1.0)
ARC = replace(STRAIGHT, shape="arc", aim_m=160.0)
BOTH = pytest.mark.parametrize("spec", [STRAIGHT, ARC], ids=["straight", "arc"])


@BOTH
def test_boxes_are_numbered_from_left_to_right(spec: StartSpec) -> None:
    """1 is leftmost facing the course (+y), neighbours share a corner, and they fill the line."""
    line = build_start_line(spec)
    assert [box.number for box in line.boxes] == list(range(1, 25))
    for one, other in zip(line.boxes, line.boxes[1:], strict=False):
        np.testing.assert_array_equal(one.right_m, other.left_m)
        assert one.left_m[1] - one.right_m[1] == pytest.approx(2.5)
    assert line.boxes[0].left_m[1] == pytest.approx(30.0)
    assert line.boxes[-1].right_m[1] == pytest.approx(-30.0)
    assert line.width_m == 60.0


@BOTH
def test_left_and_right_halves_are_mirror_images(spec: StartSpec) -> None:
    """To the last bit: box b and box 25 - b, and the paint."""
    line = build_start_line(spec)
    glass = np.array([1.0, -1.0])
    for one, other in zip(line.boxes, reversed(line.boxes), strict=True):
        np.testing.assert_array_equal(one.left_m, other.right_m * glass)
    np.testing.assert_allclose(line.line_m, line.line_m[::-1] * glass, atol=1e-12)


def test_boxes_narrower_than_the_line_stand_in_its_middle() -> None:
    """20 boxes of 2 m on 60 m: 10 m are left on each side."""
    line = build_start_line(replace(STRAIGHT, boxes=20, box_width_m=2.0))
    assert line.boxes[0].left_m.tolist() == [0.0, 20.0]
    assert line.line_m[0].tolist() == [0.0, 30.0]


def test_places_of_a_box_by_hand() -> None:
    """Box 1 of a straight line, 3 abreast in 2.5 m: files 0.833 m apart about y = 28.75, rows 1 m."""
    line = build_start_line(STRAIGHT)
    box, row = np.ones(4), np.array([1, 1, 1, 2])
    places = line.stand_m(box, row, np.array([0, 1, 2, 0]), np.array([3, 3, 3, 1]))
    step = 2.5 / 3
    expected = [
        [-ROW_OFFSET_M, 28.75 + step],
        [-ROW_OFFSET_M, 28.75],
        [-ROW_OFFSET_M, 28.75 - step],
        [-ROW_OFFSET_M - 1.0, 28.75],
    ]
    np.testing.assert_allclose(places, expected)
    assert line.stand_middle_m(1).tolist() == pytest.approx([-ROW_OFFSET_M, 28.75])


def test_everybody_stands_inside_the_own_box() -> None:
    """Every file of every box, by more than a body's radius from the paint between boxes."""
    line = build_start_line(STRAIGHT)
    box, file = np.repeat(np.arange(1, 25), 3), np.tile(np.arange(3), 24)
    places = line.stand_m(box, np.ones(72), file, np.full(72, 3))
    low = np.array([line.boxes[b - 1].right_m[1] for b in box])
    high = np.array([line.boxes[b - 1].left_m[1] for b in box])
    assert (places[:, 1] - low > 0.4).all()
    assert (high - places[:, 1] > 0.4).all()


def test_on_an_arc_rows_stand_at_equal_distances_from_the_common_point() -> None:
    """The front row 0.30 m further than the paint, the second a row gap behind it, in every box."""
    line = build_start_line(ARC)
    box = np.repeat(np.arange(1, 25), 2)
    row = np.tile([1, 2], 24)
    places = line.stand_m(box, row, np.zeros(48), np.full(48, 3))
    away = np.hypot(*(places - [160.0, 0.0]).T)
    np.testing.assert_allclose(away, 160.0 + ROW_OFFSET_M + (row - 1) * 1.0, atol=1e-9)
    paint = np.hypot(*(line.line_m - [160.0, 0.0]).T)
    np.testing.assert_allclose(paint, 160.0, atol=1e-9)


def test_the_ends_of_an_arc_bow_forward() -> None:
    """160 - sqrt(160^2 - 30^2) = 2.838 m ahead of its middle, which lies on the line; computed"""
    assert bow_m(ARC) == pytest.approx(160 - np.sqrt(160**2 - 900))
    ends = paint_m(ARC, np.array([-30.0, 0.0, 30.0]))
    assert ends[:, 0] == pytest.approx([bow_m(ARC), 0.0, bow_m(ARC)])
    assert ends[:, 1].tolist() == [30.0, 0.0, -30.0]
    assert bow_m(STRAIGHT) == 0.0


@BOTH
@pytest.mark.parametrize(("gun", "y"), [("left", 30.0), ("middle", 0.0), ("right", -30.0)])
def test_the_gun_stands_on_the_line(spec: StartSpec, gun: str, y: float) -> None:
    """At the end it names, or in the middle."""
    at = build_start_line(replace(spec, gun=gun)).gun_m
    ahead = bow_m(spec) if gun != "middle" else 0.0
    assert at.tolist() == pytest.approx([ahead, y])
