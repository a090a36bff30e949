"""From a drawing to a Strip: bends and throats found, marks placed, obstacles ringed."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.build import build_strip
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.drawing.drawn_strip import (
    BEND_WITHIN_M,
    OBSTACLE_BODY_M,
    find_bends,
    find_throats,
)
from simrun.course.pieces import RUN_OUT_M
from simrun.course.source import CourseSource, Drawing, Piece
from simrun.course.strip import Mark, Side, Strip

SEA = Frame(-20.5, -35.25, 0.3)
"""Somewhere in the open ocean: no real ground."""

Point = tuple[float, float]


def feature(shape: str, coordinates: Any, **words: Any) -> dict[str, Any]:
    geometry = {"type": shape, "coordinates": coordinates}
    return {"type": "Feature", "properties": words, "geometry": geometry}


def edge(points: list[Point], **words: Any) -> dict[str, Any]:
    return feature("LineString", SEA.to_degree(np.array(points)).tolist(), **words)


def spot(point: Point, **words: Any) -> dict[str, Any]:
    return feature("Point", SEA.to_degree(np.array([point]))[0].tolist(), **words)


def area(points: list[Point], **words: Any) -> dict[str, Any]:
    ring = SEA.to_degree(np.array([*points, points[0]])).tolist()
    return feature("Polygon", [ring], **words)


def quarter(middle: Point, radius: float, count: int = 31) -> list[Point]:
    """A quarter circle from straight below its middle to straight right of it: a left turn."""
    angles = np.linspace(-np.pi / 2, 0, count)
    return [(middle[0] + radius * np.cos(a), middle[1] + radius * np.sin(a)) for a in angles]


def right_angle(width: float = 10.0, radius: float = 6.0) -> list[dict[str, Any]]:
    """100 m along x, a left turn about (100, 5 + radius), 60 m along y."""
    middle = (100.0, width / 2 + radius)
    inner, outer = quarter(middle, radius), quarter(middle, radius + width)
    up = middle[1] + 60.0
    left = [(0.0, width / 2), *inner, (inner[-1][0], up)]
    right = [(0.0, -width / 2), *outer, (outer[-1][0], up)]
    return [edge(left, edge="left"), edge(right, edge="right")]


def drawn(*features: dict[str, Any], **options: Any) -> Strip:
    text = json.dumps({"type": "FeatureCollection", "features": list(features)})
    drawing = Drawing(text, "field.geojson")
    return build_strip(CourseSource(10.0, 8.0, drawing=drawing, **options))


def pieced(*pieces: Piece, width_m: float = 10.0) -> Strip:
    return build_strip(CourseSource(width_m, 10.0, pieces))


def straight(length_m: float = 60.0, **more: Any) -> Piece:
    return Piece("straight", length_m=length_m, **more)


def turn(side: Side, angle: float, radius: float) -> Piece:
    return Piece("turn", side=side, angle_deg=angle, inside_radius_m=radius)


def test_a_drawn_corner_is_the_corner_of_pieces() -> None:
    """The same right angle drawn and laid: one bend, its side, angle, radius, and the same length."""
    strip = drawn(*right_angle())
    laid = pieced(straight(100.0), turn(Side.LEFT, 90, 6.0), straight(60.0))
    (gate,) = strip.gates
    assert (gate.name, gate.kind, gate.inside, gate.lap) == ("turn 1", "turn", Side.LEFT, 1)
    assert np.rad2deg(strip.bend_angle_rad[gate.first_cut]) == pytest.approx(90, abs=0.5)
    assert strip.bend_radius_m[gate.first_cut] == pytest.approx(6.0, abs=0.02)
    assert strip.length_m == pytest.approx(laid.length_m, abs=0.01)
    assert strip.station_m[gate.first_cut] == pytest.approx(100.0, abs=0.5)


def test_there_is_ground_before_and_behind_a_drawing() -> None:
    """The apron asked for, and the run-out."""
    strip = drawn(*right_angle())
    assert strip.station_m[0] == pytest.approx(-8.0, abs=1e-3)
    assert strip.station_m[1] == pytest.approx(0.0, abs=1e-3)
    assert strip.station_m[-1] == pytest.approx(strip.length_m + RUN_OUT_M + 1, abs=1e-3)
    assert strip.finish_cut == len(strip.station_m) - 3
    assert strip.checkpoints == (Mark("finish", strip.length_m),)


def test_a_turns_mark_names_its_bend() -> None:
    """Within 40 m of the bend; further off there is no bend, and the refusal says what one is."""
    strip = drawn(*right_angle(), spot((104.0, 8.0), name="barn corner", kind="turn"))
    assert [gate.name for gate in strip.gates] == ["barn corner"]
    with pytest.raises(BadInput) as caught:
        drawn(*right_angle(), spot((30.0, 0.0), name="barn corner", kind="turn"))
    text = str(caught.value)
    assert "turn 'barn corner': no bend there" in text
    assert "within 40 m" in text
    assert "\n" not in text


def test_marks_lie_where_the_measured_line_is_nearest() -> None:
    """By the middle of the straight: its own x."""
    strip = drawn(
        *right_angle(),
        spot((40.0, 3.0), name="split", kind="checkpoint"),
        spot((70.0, -20.0), name="big oak"),
        checkpoints=(Mark("late", 120.0),),
    )
    assert [mark.name for mark in strip.checkpoints] == ["split", "late"]
    assert strip.checkpoints[0].station_m == pytest.approx(40.0, abs=0.2)
    assert strip.landmarks[0].station_m == pytest.approx(70.0, abs=0.2)


def test_an_obstacle_is_a_ring_that_nobody_slips_through() -> None:
    """Fixed bodies all round the outline, nearer to each other than a body is wide, none missing."""
    corners = [(40.0, -1.0), (44.0, -1.0), (44.0, 1.5), (40.0, 1.5)]
    strip = drawn(*right_angle(), area(corners, name="hay cart"))
    assert tuple(thing.name for thing in strip.obstacles) == ("hay cart",)
    x, y, radius = strip.obstacles_m.T
    assert (radius == OBSTACLE_BODY_M).all()
    points = np.stack([x, y], axis=1)
    gaps = np.hypot(*(points - np.roll(points, -1, axis=0)).T)
    assert gaps.max() <= OBSTACLE_BODY_M + 0.01
    assert gaps.sum() == pytest.approx(2 * (4.0 + 2.5), abs=0.3)
    for corner in corners:
        assert np.hypot(*(points - np.array(corner)).T).min() < OBSTACLE_BODY_M
    assert ((x > 39.99) & (x < 44.01) & (y > -1.01) & (y < 1.51)).all()


@pytest.mark.parametrize(("ahead", "told"), [(-0.2, "box 2"), (1.0, ""), (-0.02, "box 2")])
def test_an_obstacle_on_the_line_is_refused_where_somebody_stands(ahead: float, told: str) -> None:
    """Who stands inside a ring never gets out; a stride ahead of the toes it can be run around."""
    corners = [(ahead, -1.0), (ahead + 2, -1.0), (ahead + 2, 1.5), (ahead, 1.5)]
    boxes = ((1, np.array([[-0.3, 3.0], [-1.3, 3.0]])), (2, np.array([[-0.3, 0.5], [-1.3, 0.5]])))
    cart = area(corners, name="hay cart")
    if not told:
        assert tuple(
            thing.name for thing in drawn(*right_angle(), cart, stands=boxes).obstacles
        ) == ("hay cart",)
        return
    with pytest.raises(BadInput, match=f"'hay cart': stands where {told} starts"):
        drawn(*right_angle(), cart, stands=boxes)
    assert tuple(
        thing.name for thing in drawn(*right_angle(), cart, stands=boxes[:1]).obstacles
    ) == ("hay cart",)


@pytest.mark.parametrize("side", [Side.LEFT, Side.RIGHT])
@pytest.mark.parametrize(("angle", "radius"), [(25, 10), (90, 0), (90, 4), (180, 12), (60, 40)])
def test_bends_are_found_as_they_were_laid(side: Side, angle: float, radius: float) -> None:
    """Side, cuts, angle and inside radius of the fan."""
    strip = pieced(straight(), turn(side, angle, radius), straight())
    (bend,) = find_bends(strip.left_m, strip.right_m, strip.finish_cut)
    gate = strip.gates[0]
    assert (bend.side, bend.first_cut, bend.last_cut) == (side, gate.first_cut, gate.last_cut)
    assert np.rad2deg(bend.angle_rad) == pytest.approx(angle, abs=1e-6)
    assert bend.radius_m == pytest.approx(radius, rel=0.002, abs=1e-9)


def test_an_s_is_two_bends() -> None:
    """Left then right, with and without a straight between."""
    for between in ([], [straight(20.0)]):
        strip = pieced(
            straight(), turn(Side.LEFT, 60, 8), *between, turn(Side.RIGHT, 60, 8), straight()
        )
        bends = find_bends(strip.left_m, strip.right_m, strip.finish_cut)
        assert [bend.side for bend in bends] == [Side.LEFT, Side.RIGHT]
        assert [np.rad2deg(bend.angle_rad) for bend in bends] == pytest.approx([60, 60])


@pytest.mark.parametrize(
    ("angle", "radius"), [(19.0, 10.0), (90.0, BEND_WITHIN_M + 1.0), (0.0, 0.0)]
)
def test_kinks_and_wide_sweeps_are_no_bends(angle: float, radius: float) -> None:
    """Less than 20 degrees in all, or wider than 60 m: nothing to choose a line for."""
    pieces = [straight(200.0), straight(200.0)]
    if angle:
        pieces.insert(1, turn(Side.LEFT, angle, radius))
    strip = pieced(*pieces)
    assert find_bends(strip.left_m, strip.right_m, strip.finish_cut) == []


@pytest.mark.parametrize(
    ("widths", "found"),
    [
        ([20, 20, 20, 15, 10, 8, 8, 8], [5]),
        ([20, 20, 18, 16, 15, 15], []),
        ([20, 20, 13.9, 13.9], [2]),
        ([20, 20, 14.1, 14.1], []),
        ([20, 20, 10, 10, 10, 4, 4], [2, 5]),
        ([20, 20, 8, 20, 8, 20], [2, 4]),
        ([8, 8, 10, 12], []),
        ([20], []),
    ],
)
def test_throats_are_where_the_course_has_come_down_for_good(
    widths: list[float], found: list[int]
) -> None:
    """To less than 70 % of the width before, at the end of the narrowing; a second one counts anew.

    The first width is that of the apron, which is the start line's own.
    """
    assert find_throats(np.array(widths, dtype=float)) == found
