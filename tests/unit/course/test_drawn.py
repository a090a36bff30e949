"""A drawing becomes cuts, marks and obstacles; what cannot be raced is refused in one line."""

from __future__ import annotations

import json
import runpy
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.drawing.drawn import DrawnCourse, read_drawing
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.drawing.ribbon import crossed_cell
from simrun.course.source import Drawing
from simrun.course.strip import EdgeKind
from tests.helpers.ribbons import arc, cell_area_m2, path_m

HELPER = Path(__file__).parents[2] / "helpers" / "ostrel_common.py"
SEA = Frame(-20.5, -35.25, 0.3)


def line(points_m, frame=SEA, **words):
    return feature("LineString", frame.to_degree(np.array(points_m, dtype=float)).tolist(), **words)


def point(point_m, **words):
    return feature("Point", SEA.to_degree(np.array([point_m], dtype=float))[0].tolist(), **words)


def polygon(points_m, **words):
    ring = SEA.to_degree(np.array([*points_m, points_m[0]], dtype=float)).tolist()
    return feature("Polygon", [ring], **words)


def feature(shape, coordinates, **words):
    geometry = {"type": shape, "coordinates": coordinates}
    return {"type": "Feature", "properties": words, "geometry": geometry}


def read(*features, **more) -> DrawnCourse:
    text = json.dumps({"type": "FeatureCollection", "features": list(features)})
    return read_drawing(Drawing(text, "field.geojson", **more))


def refusal(*features, **more) -> str:
    with pytest.raises(BadInput) as caught:
        read(*features, **more)
    return str(caught.value)


def text_refusal(text) -> str:
    with pytest.raises(BadInput) as caught:
        read_drawing(Drawing(text, "field.geojson"))
    return str(caught.value)


LEFT = line([(0, 10), (200, 10)], edge="left")
RIGHT = line([(0, -10), (200, -10)], edge="right")


# ---- the frame


def test_a_thousandth_of_a_degree_at_40_north():
    """One thousandth of a degree north is 111.035 m, east 85.394 m.

    Source: WGS84 series, computed.
    """
    frame = Frame(10.0, 40.0)
    x, y = frame.to_local_m(np.array([[10.001, 40.0], [10.0, 40.001]])).T
    assert (x[0], y[1]) == (pytest.approx(85.394, abs=6e-4), pytest.approx(111.035, abs=6e-4))


def test_the_race_first_runs_along_x_with_the_left_edge_at_plus_y():
    course = read(LEFT, RIGHT)
    np.testing.assert_array_equal(course.left_m[0], [0.0, 10.0])
    np.testing.assert_array_equal(course.right_m[-1], [200.0, -10.0])
    assert course.place.heading_rad == pytest.approx(0.3, abs=1e-6)
    assert course.place.longitude_latitude_deg == pytest.approx((-20.5, -35.25), abs=1e-8)


@pytest.mark.parametrize("frame", [Frame(33.0, 5.0, -2.0), Frame(179.9999, 61.0, 0.7)])
def test_the_same_course_drawn_elsewhere_and_turned_gives_the_same_bits(frame):
    """The second place lies across the 180th meridian."""
    left, right = [(0, 9.5), (90, 8), (200, 60)], [(0, -9.5), (120, -12), (215, 40)]
    here = read(line(left, edge="left"), line(right, edge="right"))
    there = read(line(left, frame, edge="left"), line(right, frame, edge="right"))
    for name in ("left_m", "right_m", "height_m"):
        assert getattr(here, name).tobytes() == getattr(there, name).tobytes()


# ---- a centre line and a width


def test_a_corner_of_a_centre_line_keeps_its_width_and_its_closed_form():
    """90 degrees, 10 m wide: the outside is a quarter circle of 10 m about the inner corner.

    Outer edge: 95 + 95 + 18 sides of 5 degrees, each 2 x 10 sin(2.5 degrees); inner: 95 + 95.
    Computed.
    """
    course = read(line([(0, 0), (100, 0), (100, 100)]), width_m=10.0)
    width = np.hypot(*(course.left_m - course.right_m).T)
    np.testing.assert_allclose(width, 10.0, atol=1e-3)
    assert path_m(course.left_m) == pytest.approx(190.0, abs=1e-3)
    assert path_m(course.right_m) == pytest.approx(190 + 360 * np.sin(np.deg2rad(2.5)), abs=1e-3)


def test_the_width_of_a_centre_line_may_change_from_point_to_point():
    course = read(line([(0, 0), (50, 0), (80, 0)], edge="centre", width=[40, 20, 8.5], kind="open"))
    np.testing.assert_allclose(course.left_m[[0, -1]], [[0, 20], [80, 4.25]], atol=1e-3)
    assert (course.left_edge == EdgeKind.OPEN).all()


@pytest.mark.parametrize("width", [12.0, 30.0])
def test_a_turn_tighter_than_its_width_is_refused(width):
    hairpin = line([(0, 0), (60, 0), (60, 5), (0, 5)], name="loop")
    assert "a turn tighter than its width allows near point 2" in refusal(hairpin, width_m=width)


def test_a_width_that_changes_faster_than_cuts_can_follow_is_refused():
    """From 1 m to 22 m over 2 m of a bend: the wide cut reaches back across the narrow one."""
    bend = [(0, 0), (2, 0), (4, 0.0175), (5.87, 0.734)]
    said = refusal(line(bend, width=[1, 1, 22, 1]))
    assert "the width changes too fast near point 2" in said


def test_a_finely_drawn_turn_tighter_than_its_width_is_refused():
    """Radius 4 m, 10 m wide, in steps of 6 degrees: bisectors cross at the inside."""
    bend = np.vstack([[(0, 0)], arc((50, 4), 4, -90, 90, 31), [(0, 8)]])
    assert "a turn tighter than its width allows" in refusal(line(bend), width_m=10.0)


# ---- words of the drawing


def test_marks_obstacles_heights_and_kinds_are_carried():
    left = line([(0, 10), (100, 10)], edge="left", kind="barrier")
    onward = line([(100, 10), (200, 10)], edge="left", kind="open")
    for drawn in (left, onward):
        for row in drawn["geometry"]["coordinates"]:
            row.append(12.5)
    right = json.loads(json.dumps(RIGHT))
    for row, height in zip(right["geometry"]["coordinates"], (12.5, 14.5), strict=True):
        row.append(height)
    course = read(
        left, onward, right,
        point((50, 30), name="hay cart"),
        point((120, 0), name="1st split", kind="checkpoint"),
        point((90, 9), name="gate bend", kind="turn"),
        polygon([(60, 0), (62, 0), (61, 2)], name="tree"),
    )  # fmt: skip
    assert [m.name for m in (*course.landmarks, *course.checkpoints, *course.turns)] == [
        "hay cart", "1st split", "gate bend",
    ]  # fmt: skip
    np.testing.assert_allclose(course.checkpoints[0].point_m, (120, 0), atol=1e-3)
    assert course.obstacles[0][0] == "tree"
    assert course.obstacles[0][1].shape == (4, 2)
    change = int(np.flatnonzero(course.left_edge == EdgeKind.OPEN)[0])
    assert course.left_m[change, 0] == pytest.approx(100, abs=1e-3)
    assert set(course.left_edge[:change]) == {EdgeKind.BARRIER}
    assert course.height_m[[0, -1]] == pytest.approx([12.5, 13.5])


def test_heights_count_only_if_every_point_has_one():
    left = json.loads(json.dumps(LEFT))
    left["geometry"]["coordinates"][0].append(40.0)
    assert not read(left, RIGHT).height_m.any()


def test_repeated_points_are_dropped():
    again = line([(0, 10), (0, 10), (200, 10), (200, 10)], edge="left")
    assert read(again, RIGHT).left_m.tobytes() == read(LEFT, RIGHT).left_m.tobytes()


# ---- refusals: (what is drawn, what the one line must say)

DRAWN_WRONG = {
    "no right edge": ((LEFT,), "1 left, 0 right, 0 centre; a left and a right edge, or one centre"),
    "edge word": ((line([(0, 0), (9, 0)], edge="rihgt"),), "did you mean 'right'?"),
    "kind word": ((line([(0, 0), (9, 0)], edge="left", kind="barier"),), "did you mean 'barrier'?"),
    "which edge": ((LEFT, RIGHT, line([(0, 0), (9, 0)])), "does not say which edge it is"),
    "shape": ((feature("MultiPoint", []),), "geometry 'MultiPoint'; one of LineString, Point"),
    "no shape": ((feature("Point", [0, 0]) | {"geometry": None},), "feature 1: no geometry"),
    "one point": ((line([(0, 0)], edge="left"),), "1 points; a LineString has at least 2"),
    "same points": ((line([(0, 5), (0, 5)], edge="left"), RIGHT), "all points are the same"),
    "no width": ((line([(0, 0), (9, 0)]),), "properties.width: no width; 0.6 to 1000 m"),
    "widths": ((line([(0, 0), (9, 0)], width=[5]),), "1 widths for 2 points"),
    "width text": ((line([(0, 0), (9, 0)], width="wide"),), "properties.width: 'wide'; 0.6 to"),
    "crossing": (
        (LEFT, line([(0, -10), (90, -10), (120, 30), (200, 30)], edge="right")),
        "crosses or touches feature 1 (left edge) near 105 m ahead of the start line and +10 m",
    ),
    "crossing itself": (
        (LEFT, line([(0, -9), (90, -9), (90, -40), (50, -40), (50, 5), (200, 5)], edge="right")),
        "feature 2 (right edge): crosses or touches itself behind the point 0 m ahead of the start",
    ),
    "folded back": (
        (LEFT, line([(0, -10), (100, -10), (60, -10), (200, -10)], edge="right")),
        "feature 2 (right edge): crosses or touches itself behind the point 0 m ahead",
    ),
    "opposite": (
        (line([(200, 10), (0, 10)], edge="left"), RIGHT),
        "runs the opposite way to feature 1 (left edge)",
    ),
    "sides swapped": (
        (line([(0, -10), (200, -10)], edge="left"), line([(0, 10), (200, 10)], edge="right")),
        "the left edge lies to the right",
    ),
    "start on the course": (
        (line([(50, 40), (0, 40), (0, 10), (200, 10)], edge="left"), RIGHT, ),
        "start line or the finish line crosses an edge",
    ),
    "a bay with a hook": (
        (line([(0, 50), (90, 50), (90, 99), (50, 99), (50, 120), (150, 120), (150, 50), (300, 50)],
              edge="left"),
         line([(0, -50), (300, -50)], edge="right")),
        "an edge turns back",
    ),
    "no start line": (
        (line([(0, 0.2), (9, 2)], edge="left"), line([(0, 0), (9, -2)], edge="right")),
        "start line: 0.20 m wide; at least 0.6 m",
    ),
    "gap in an edge": (
        (line([(0, 10), (90, 10)], edge="left"), line([(95, 10), (200, 10)], edge="left"), RIGHT),
        "begins 5.0 m away from where the line before it ends",
    ),
    "an obstacle with a point far off": (
        (LEFT, RIGHT, polygon([(60, 0), (62, 0), (9000, 9000)], name="barn")),
        "obstacle 'barn': 25.4 km round; outlines of at most 20 km in all",
    ),
    "far obstacle": (
        (LEFT, RIGHT, polygon([(60, 40), (62, 40), (61, 42)], name="barn")),
        "obstacle 'barn': is not on the course",
    ),
    "closing obstacle": (
        (LEFT, RIGHT, polygon([(60, -9.5), (62, -9.5), (62, 9.5), (60, 9.5)], name="pond")),
        "obstacle 'pond': closes the whole width",
    ),
    "closing together": (
        (LEFT, RIGHT, polygon([(60, -12), (62, -12), (62, 0), (60, 0)], name="pond"),
         polygon([(60, 0.5), (62, 0.5), (62, 12), (60, 12)], name="hedge")),
        "'pond', 'hedge' together close the whole width",
    ),
    "crossed obstacle": (
        (LEFT, RIGHT, polygon([(60, 0), (62, 2), (62, 0), (60, 2)], name="bow")),
        "obstacle 'bow': its outline crosses itself",
    ),
    "nameless": ((LEFT, RIGHT, point((9, 0))), "feature 3: a Point without a name"),
    "far mark": ((LEFT, RIGHT, point((9, 900), name="tower")), "'tower': is 890 m away"),
    "too long": ((line([(0, 0), (70_000, 0)], width=5),), "70 km long; at most 60 km"),
    "height": ((feature("LineString", [[1, 2, 3], [1, 2.1, 1e99]]),), "a height of 1e+99; -500"),
    "true": ((feature("LineString", [[True, 2], [1, 2]]),), "a point [True, 2]"),
}  # fmt: skip


@pytest.mark.parametrize(("drawn", "says"), DRAWN_WRONG.values(), ids=DRAWN_WRONG.keys())
def test_a_drawing_that_cannot_be_raced_is_refused_in_one_line(drawn, says):
    said = refusal(*drawn)
    assert said.startswith("field.geojson: ")
    assert says in said
    assert "\n" not in said


TEXT_WRONG = {
    "{": "not JSON at line 1, column 2",
    "[]": "not GeoJSON ([])",
    '{"type": "FeatureColection", "features": []}': "did you mean 'FeatureCollection'?",
    '{"type": "FeatureCollection"}': "no list of features",
    '{"type": "FeatureCollection", "features": []}': "nothing is drawn",
    '{"type": "FeatureCollection", "features": [7]}': "feature 1: not a Feature (7)",
    '{"type": "Point", "coordinates": [NaN, 1]}': "the number NaN",
    '{"type": "Point", "coordinates": [1, -Infinity]}': "the number -Infinity",
    '{"type": "LineString", "coordinates": [[1e999, 1], [1, 1]]}': "in numbers",
    '{"type": "LineString", "coordinates": [[1, 91], [200, 1]]}': "latitude -90 to 90",
    "[" * 100_000: "nested too deeply",
    '{"type": "LineString", "coordinates": [[1' + "0" * 9999 + ", 1], [1, 1]]}": "too many digits",
}


@pytest.mark.parametrize(("text", "says"), TEXT_WRONG.items(), ids=range(len(TEXT_WRONG)))
def test_a_text_that_is_no_geojson_is_refused_in_one_line(text, says):
    said = text_refusal(text)
    assert says in said
    assert "\n" not in said


def test_a_text_that_is_too_large_or_has_too_many_points_is_refused():
    assert "21 MB; at most 20 MB" in text_refusal(" " * 21_000_000)
    many = feature("LineString", [[0, k * 1e-7] for k in range(100_001)], edge="left")
    assert "more than 100000 points" in refusal(many)


def test_latitude_before_longitude_is_told_where_it_can_be():
    """Out of range; too long for a course; and two edges, which come out mirrored."""
    assert "looks like latitude, longitude" in refusal(
        feature("LineString", [[-35.0, 150.0], [-35.0, 150.01]], width=5)
    )
    polar = [[80.0, 0.0], [80.0, 0.7]]
    assert "looks like latitude, longitude" in refusal(feature("LineString", polar, width=5))
    swapped = [json.loads(json.dumps(edge)) for edge in (LEFT, RIGHT)]
    for edge in swapped:
        rows = edge["geometry"]["coordinates"]
        edge["geometry"]["coordinates"] = [row[::-1] for row in rows]
    assert "GeoJSON wants longitude, latitude" in refusal(*swapped)


# ---- the shipped drawing


def test_the_shipped_championship_course_is_what_its_formula_draws():
    helper = runpy.run_path(str(HELPER))
    assert helper["FILE"].read_text("utf-8") == helper["ostrel_common"]()


def test_the_shipped_championship_course_can_be_read():
    """Invented data: 100 m line, 20 m at 450 m, a pavilion's corner as barrier, a tree ring."""
    helper = runpy.run_path(str(HELPER))
    course = read_drawing(Drawing(helper["FILE"].read_text("utf-8"), "ostrel_common.geojson"))
    width = np.hypot(*(course.left_m - course.right_m).T)
    assert width[0] == pytest.approx(100, abs=1e-3)
    assert (cell_area_m2(course.left_m, course.right_m) > 0).all()
    assert crossed_cell(course.left_m, course.right_m) == -1
    assert {int(kind) for kind in course.left_edge} == {EdgeKind.MARKED, EdgeKind.BARRIER}
    assert [mark.name for mark in course.checkpoints] == ["400 m", "1 km"]
    assert [name for name, _ in course.obstacles] == ["tree ring"]
    middle = (course.left_m + course.right_m) / 2
    assert 1580 < path_m(middle) < 1640
