"""Whatever is drawn: a course survives being written and read, and rubbish raises only BadInput."""

from __future__ import annotations

import json
from copy import deepcopy

import numpy as np
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.course.drawing.drawn import DrawnCourse, DrawnMark, read_drawing
from simrun.course.drawing.drawn_text import to_geojson
from simrun.course.drawing.ribbon import crossed_cell
from simrun.course.source import Drawing
from simrun.course.strip import Place

POINT_TOLERANCE_M = 0.002
LENGTH_SHARE = 0.001

places = st.builds(
    lambda longitude, latitude, heading: Place((0.0, 0.0), heading, (longitude, latitude)),
    st.floats(-180, 180),
    st.floats(-85, 85),
    st.floats(-3.1, 3.1),
)


def _some_points(rng, count):
    """The numbers of drawn points, 3 to 8 m (6 to 16 half metres) apart, both ends included."""
    inner = np.cumsum(rng.integers(6, 17, count // 6))
    return np.concatenate([[0], inner[inner < count - 3], [count - 1]])


@st.composite
def courses(draw) -> DrawnCourse:
    """Edges about a wandering middle whose heading stays within 80 degrees of the start's.

    Every bend's radius is at least the greatest width, so the edges are sound; each edge is drawn
    at its own points.
    """
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    widest = rng.uniform(3, 40)
    knots = np.arange(int(rng.integers(4, 12)))
    spacing = rng.uniform(60, 120)
    headings = np.concatenate([[0.0, 0.0], rng.uniform(-1.4, 1.4, len(knots) - 2)])
    most = 0.9 * spacing / widest
    for k in knots[1:]:
        headings[k] = headings[k - 1] + np.clip(headings[k] - headings[k - 1], -most, most)
    along = np.arange(0, knots[-1] * spacing, 0.5)
    heading = np.interp(along, knots * spacing, headings)
    middle = np.cumsum(0.5 * np.stack([np.cos(heading), np.sin(heading)], axis=1), axis=0)
    middle -= middle[0]
    width = np.interp(along, knots * spacing, rng.uniform(0.5, 1, len(knots)) * widest)
    side = np.stack([-np.sin(heading), np.cos(heading)], axis=1) * width[:, None] / 2
    picked = [_some_points(rng, len(along)) for _ in "lr"]
    left, right = (middle + side)[picked[0]], (middle - side)[picked[1]]
    return DrawnCourse(
        left_m=left,
        right_m=right,
        left_edge=rng.integers(0, 3, len(left) - 1).astype(np.int8),
        right_edge=np.ones(len(right) - 1, dtype=np.int8),
        height_m=np.zeros(1),
        place=draw(places),
        landmarks=(DrawnMark("oak", tuple(middle[len(middle) // 2])),),
    )


def off_line_m(points, line):
    """The largest distance of any of `points` from a polyline."""
    from shapely import LineString, distance
    from shapely import points as as_points

    return float(np.max(distance(as_points(points), LineString(line))))


def length_m(points):
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def read(text) -> DrawnCourse:
    return read_drawing(Drawing(text, "drawn.geojson"))


@settings(max_examples=60, deadline=None)
@given(courses())
@pytest.mark.slow
def test_edges_drawn_apart_give_uncrossed_cuts_on_the_drawn_edges(course):
    """Cut ends lie on the drawn edges, drawn points on the edges of the cuts."""
    got = read(to_geojson(course))
    assert crossed_cell(got.left_m, got.right_m) == -1
    for drawn, cut in ((course.left_m, got.left_m), (course.right_m, got.right_m)):
        assert off_line_m(cut, drawn) < POINT_TOLERANCE_M
        assert off_line_m(drawn, cut) < POINT_TOLERANCE_M
        assert abs(length_m(cut) / length_m(drawn) - 1) < LENGTH_SHARE
    np.testing.assert_allclose(got.landmarks[0].point_m, course.landmarks[0].point_m, atol=0.002)


@settings(max_examples=30, deadline=None)
@given(courses())
@pytest.mark.slow
def test_cuts_written_and_read_again_keep_length_and_place(course):
    once = read(to_geojson(course))
    twice = read(to_geojson(once, "written again"))
    for first, second in ((once.left_m, twice.left_m), (once.right_m, twice.right_m)):
        assert off_line_m(second, first) < POINT_TOLERANCE_M
        assert off_line_m(first, second) < POINT_TOLERANCE_M
        assert abs(length_m(second) / length_m(first) - 1) < LENGTH_SHARE
    for kind in (0, 1, 2):
        metres = [np.hypot(*np.diff(c.left_m, axis=0).T)[c.left_edge == kind].sum()
                  for c in (once, twice)]  # fmt: skip
        assert abs(metres[1] - metres[0]) < 0.01


@settings(max_examples=60, deadline=None)
@given(courses())
@pytest.mark.slow
def test_the_longest_cut_is_never_much_longer_than_the_course_is_wide(course):
    """Cuts of sensible length: from its middle no cut reaches further than the widest place."""
    got = read(to_geojson(course))
    widest = 2 * max(
        off_line_m(course.left_m, course.right_m), off_line_m(course.right_m, course.left_m)
    )
    assert np.hypot(*(got.left_m - got.right_m).T).max() <= widest


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.tuples(st.floats(2, 60), st.floats(-150, 150), st.floats(0.6, 40)), min_size=2),
    st.floats(0.02, 1.0),
)
def test_a_scribbled_centre_line_is_refused_or_has_uncrossed_cuts(legs, share):
    """Legs of (metres, degrees of turn times a share, width)."""
    heading = np.deg2rad(np.cumsum([turn * share for _, turn, _ in legs]))
    step = np.array([leg[0] for leg in legs])[:, None] / 111_000
    points = np.cumsum(step * np.stack([np.cos(heading), np.sin(heading)], axis=1), axis=0)
    words = {"width": [width for _, _, width in legs]}
    geometry = {"type": "LineString", "coordinates": points.tolist()}
    text = json.dumps({"type": "Feature", "properties": words, "geometry": geometry})
    try:
        course = read(text)
    except BadInput as error:
        event(str(error).split("(")[0].rstrip("0123456789 "))
        return
    event("raced")
    assert crossed_cell(course.left_m, course.right_m) == -1


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=9)
    | st.sampled_from(["Feature", "Point", "LineString", "Polygon", "left", "turn", "barrier"]),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(
        st.sampled_from(["type", "features", "geometry", "coordinates", "properties", "edge"])
        | st.text(max_size=4),
        inner,
        max_size=4,
    ),
    max_leaves=20,
)  # fmt: skip

SOUND = {
    "type": "FeatureCollection",
    "features": [
        {"type": "Feature", "properties": {"edge": edge, "kind": "marked"},
         "geometry": {"type": "LineString", "coordinates": rows}}
        for edge, rows in (("left", [[0, 0.0001], [0.001, 0.0001], [0.002, 0.0002]]),
                           ("right", [[0, 0], [0.0015, 0], [0.002, 0.0001]]))
    ] + [
        {"type": "Feature", "properties": {"name": "elm", "kind": "turn"},
         "geometry": {"type": "Point", "coordinates": [0.001, 0]}},
        {"type": "Feature", "properties": {"name": "pond"},
         "geometry": {"type": "Polygon", "coordinates": [[[0.001, 0.00005], [0.00101, 0.00005],
                                                          [0.001, 0.00006], [0.001, 0.00005]]]}},
    ],
}  # fmt: skip


def paths_in(value, path=()):
    yield path
    keys = (
        value if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    )
    for key in keys:
        yield from paths_in(value[key], (*path, key))


PATHS = list(paths_in(SOUND))


def test_the_drawing_that_is_spoilt_below_is_sound():
    assert len(read(json.dumps(SOUND)).left_m) > 4


def spoilt(changes):
    data = {"all": deepcopy(SOUND)}
    for path, value in changes:
        spot = data
        keys = ("all", *path)
        try:
            for key in keys[:-1]:
                spot = spot[key]
            spot[keys[-1]] = value
        except (KeyError, IndexError, TypeError):
            continue
    return json.dumps(data["all"])


def only_bad_input(text):
    """Read it; if it is refused, then in one line that names the file."""
    said = ""
    try:
        read(text)
    except BadInput as error:
        said = str(error)
    assert "\n" not in said
    assert not said or said.startswith("drawn.geojson: ")


@settings(max_examples=300, deadline=None)
@given(json_values)
def test_random_json_raises_only_bad_input(value):
    only_bad_input(json.dumps(value))


@settings(max_examples=600, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(PATHS), json_values), min_size=1, max_size=3))
def test_a_spoilt_drawing_raises_only_bad_input(changes):
    only_bad_input(spoilt(changes))


degrees = st.floats(-0.002, 0.003) | st.floats(-180, 180) | st.sampled_from([0.0, 0.001, 90, -90])


@settings(max_examples=600, deadline=None)
@given(st.data())
def test_scribbled_edges_raise_only_bad_input_or_have_uncrossed_cuts(data):
    rows = st.lists(st.tuples(degrees, degrees), min_size=1, max_size=6)
    drawing = deepcopy(SOUND)
    for feature in drawing["features"][:2]:
        if data.draw(st.booleans()):
            feature["geometry"]["coordinates"] = data.draw(rows)
    try:
        course = read(json.dumps(drawing))
    except BadInput:
        return
    assert crossed_cell(course.left_m, course.right_m) == -1


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=40))
def test_random_text_raises_only_bad_input(text):
    only_bad_input(text)
