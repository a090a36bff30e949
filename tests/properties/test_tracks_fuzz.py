"""Whatever a track file holds: it becomes a course or is refused in one clear line."""

from __future__ import annotations

import json

from hypothesis import event, given, settings
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.course.tracks.track_drawing import drawing_of
from simrun.course.tracks.track_file import read_tracks
from simrun.course.tracks.track_tidy import trail_of


def only_bad_input(data: bytes) -> None:
    """Read it, lay it out; if it is refused, then in one line."""
    said = ""
    try:
        tracks = read_tracks(data)
        if not tracks.is_drawing:
            drawing_of(
                trail_of(tracks, "1" if len(tracks.parts) > 1 else ""), tracks, 6.0, "metric"
            )
    except BadInput as refused:
        said = str(refused)
    event(said.split(":")[0].rstrip("0123456789") or "read")
    assert "\n" not in said


words = st.sampled_from(
    [
        "NaN",
        "inf",
        "-inf",
        "1e999",
        "180",
        "-180",
        "179.9999",
        "-179.9999",
        "90",
        "-90",
        "0",
        "-0",
        "1e-300",
        "''",
        "x",
        "51,5",
        "&lt;",
        "٠",
    ]
)
near = st.floats(-0.004, 0.004).map(lambda x: f"{x:.6f}")
degree = near | near | near | words
moment = st.sampled_from(
    ["", "2026-01-01T00:00:00Z", "2026-01-01T00:05:00Z", "9999-99-99", "2026-01-01"]
)
points = st.lists(st.tuples(degree, degree, words | near, moment), max_size=12)
tags = st.sampled_from(
    [
        "gpx",
        "trk",
        "trkseg",
        "trkpt",
        "rte",
        "rtept",
        "wpt",
        "name",
        "ele",
        "time",
        "kml",
        "Placemark",
        "Point",
    ]
)
more_tags = st.sampled_from(
    ["LineString", "MultiGeometry", "Track", "coord", "when", "coordinates", "extensions", "x:y"]
)


@st.composite
def gpx(draw):
    line, point = draw(
        st.sampled_from([("trkseg", "trkpt"), ("rte", "rtept"), ("trkseg", "rtept")])
    )
    rows = "".join(
        f'<{point} lat="{a}" lon="{b}"><ele>{c}</ele><time>{d}</time></{point}>'
        for a, b, c, d in draw(points)
    )
    name = draw(st.sampled_from(["", "<name>oak</name>", "<name/>", '<wpt lat="0" lon="0"/>']))
    return f"<gpx><trk>{name}<{line}>{rows}</{line}></trk>{name}</gpx>".encode()


@st.composite
def kml(draw):
    rows = " ".join(",".join(row[:3]) for row in draw(points))
    coords = "".join(f"<coord>{a} {b} {c}</coord><when>{d}</when>" for a, b, c, d in draw(points))
    return (
        f"<kml><Placemark><name>a</name><LineString><coordinates>{rows}</coordinates></LineString>"
        f"<Track>{coords}</Track></Placemark></kml>"
    ).encode()


trees = st.recursive(
    st.text(max_size=5).map(lambda t: t.replace("&", "").replace("<", "")) | degree,
    lambda inner: st.tuples(tags | more_tags, st.lists(inner, max_size=4)).map(
        lambda tree: f"<{tree[0]}>{''.join(tree[1])}</{tree[0]}>"
    ),
    max_leaves=15,
)
numbers = st.floats() | st.floats(-0.004, 0.004) | st.integers() | st.none() | st.booleans()
rows = st.lists(st.lists(numbers, max_size=4), max_size=8)


@st.composite
def geojson(draw):
    shape = draw(st.sampled_from(["LineString", "MultiLineString", "Point", "Polygon", 3]))
    inner = draw(rows | st.lists(rows, max_size=3) | numbers)
    feature = {"type": "Feature", "properties": draw(st.none() | st.just({"name": 3})),
               "geometry": {"type": shape, "coordinates": inner}}  # fmt: skip
    return json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()


@st.composite
def spoilt(draw):
    """A file with a stretch of its bytes cut out, doubled or changed."""
    data = draw(gpx() | kml() | geojson())
    at = draw(st.integers(0, len(data)))
    to = draw(st.integers(at, min(len(data), at + 30)))
    return data[:at] + draw(st.binary(max_size=6) | st.just(data[at:to] * 2)) + data[to:]


files = gpx() | kml() | geojson() | spoilt() | st.binary(max_size=60)
files |= trees.map(lambda text: f"<gpx>{text}</gpx>".encode("utf-8", "replace"))


@settings(max_examples=250, deadline=None)
@given(files)
def test_any_file_is_read_or_refused_in_one_line(data):
    only_bad_input(data)
