"""Which lines does a file hold? Held against what other libraries write, and against what is wrong."""

from __future__ import annotations

import json
import tracemalloc

import gpxpy.gpx
import numpy as np
import pytest
from fastkml import KML, Placemark
from fastkml.geometry import LineString as KmlLine
from pygeoif.geometry import LineString as Shape

from simrun.base.errors import BadInput
from simrun.course.tracks.track_file import read_tracks
from simrun.course.tracks.track_lines import Tracks

ROWS = [(-20.5, -35.25, 4.0), (-20.499, -35.2501, 5.5), (-20.498, -35.2489, 7.25)]


def gpx(body: str, head: str = "<gpx>") -> bytes:
    return f"{head}{body}</gpx>".encode()


def points(rows: list[tuple[float, float, float]], tag: str = "trkpt") -> str:
    return "".join(f'<{tag} lon="{a}" lat="{b}"><ele>{c}</ele></{tag}>' for a, b, c in rows)


def same_line(tracks: Tracks) -> None:
    (part,) = tracks.parts
    np.testing.assert_allclose(part.degree, np.array(ROWS)[:, :2], atol=1e-9)
    np.testing.assert_allclose(part.height_m, np.array(ROWS)[:, 2], atol=1e-9)


def refused(data: bytes) -> str:
    with pytest.raises(BadInput) as caught:
        read_tracks(data)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize("is_route", [True, False])
def test_a_gpx_written_by_another_library_is_read_to_the_same_points(is_route: bool) -> None:
    """Track and route of the gpxpy library, with namespace and a waypoint."""
    made = gpxpy.gpx.GPX()
    made.waypoints.append(gpxpy.gpx.GPXWaypoint(-35.25, -20.499, name="hay wagon"))
    if is_route:
        made.routes.append(gpxpy.gpx.GPXRoute())
        made.routes[0].points = [gpxpy.gpx.GPXRoutePoint(b, a, c) for a, b, c in ROWS]
    else:
        segment = gpxpy.gpx.GPXTrackSegment()
        segment.points = [gpxpy.gpx.GPXTrackPoint(b, a, c) for a, b, c in ROWS]
        made.tracks.append(gpxpy.gpx.GPXTrack())
        made.tracks[0].segments.append(segment)
    found = read_tracks(made.to_xml(version="1.1").encode())
    same_line(found)
    assert found.places == (("hay wagon", (-20.499, -35.25)),)


def test_a_kml_written_by_another_library_is_read_to_the_same_points() -> None:
    """A line of the fastkml library."""
    made = KML()
    made.append(Placemark(kml_geometry=KmlLine(geometry=Shape(ROWS)), name="farm"))
    found = read_tracks(made.to_string().encode())
    same_line(found)
    assert found.parts[0].name == "farm"


def test_a_recorded_track_of_a_kml_keeps_its_times() -> None:
    rows = "".join(f"<when>2026-01-01T00:00:0{k}Z</when>" for k in range(3))
    rows += "".join(f"<g:coord>{a} {b} {c}</g:coord>" for a, b, c in ROWS)
    text = f'<kml xmlns:g="x"><Placemark><g:Track>{rows}</g:Track></Placemark></kml>'
    found = read_tracks(text.encode())
    same_line(found)
    np.testing.assert_array_equal(np.diff(found.parts[0].time_s), [1, 1])


@pytest.mark.parametrize("kind", ["LineString", "MultiLineString"])
def test_geojson_lines(kind: str) -> None:
    rows = [list(row) for row in ROWS]
    shape = {"type": kind, "coordinates": rows if kind == "LineString" else [rows]}
    same_line(read_tracks(json.dumps(shape).encode()))


def test_segments_stay_apart() -> None:
    """Two segments of one track are two parts, whatever their names."""
    segment = f"<trkseg>{points(ROWS)}</trkseg>"
    assert len(read_tracks(gpx(f"<trk>{segment}{segment}</trk>")).parts) == 2


BOMB = '<!DOCTYPE gpx [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
OUTSIDE = '<!DOCTYPE gpx [<!ENTITY a SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b" \n", "empty"),
        (b"hello", "neither XML nor JSON"),
        (b"PK\x03\x04zipped", "neither XML nor JSON"),
        (b"<gpx><trk>", "not well-formed"),
        (b"<svg></svg>", "another kind"),
        (b"<gpx></gpx>", "no line"),
        (gpx(BOMB), "not well-formed"),
        (f"{BOMB}<gpx><trk><name>&b;</name></trk></gpx>".encode(), "document type or entities"),
        (f"{OUTSIDE}<gpx><name>&a;</name></gpx>".encode(), "document type or entities"),
        (b'<?xml version="1.0" encoding="klingon"?><gpx/>', "encoding"),
        (gpx(f"<rte>{points([(0, 0, 0)], 'rtept')}</rte>"), "no line"),
        (gpx('<rte><rtept lat="NaN" lon="1"/></rte>'), "finite"),
        (gpx('<rte><rtept lat="1"/></rte>'), "lon: missing"),
        (gpx('<rte><rtept lat="120" lon="35"/></rte>'), "swapped"),
        (b'{"type": "LineString", "coordinates": [[35, 120], [35, 121]]}', "latitude"),
        (b'{"type": "LineString", "coordinates": [[NaN, 0], [1, 1]]}', "finite"),
        (b'{"type": "LineString"', "not JSON"),
        (b"[" * 100_000, "nested"),
        (b"<gpx>" + b"<a>" * 1000, "nested"),
        (gpx("<wpt>" * 5), "well-formed"),
    ],
)
def test_what_is_wrong_is_told_in_one_line(data: bytes, said: str) -> None:
    assert said in refused(data)


def test_too_many_points_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simrun.course.tracks.track_lines.MOST_TRACK_POINTS", 100)
    assert "more than 100 points" in refused(gpx(f"<rte>{points(ROWS, 'rtept') * 50}</rte>"))


def test_elements_that_nobody_asked_for_are_let_go() -> None:
    """Thirty thousand of them, a quarter of a megabyte, beside a line: less than a megabyte is in use."""
    data = gpx("<name/>" * 30_000 + f"<rte>{points(ROWS, 'rtept')}</rte>")
    read_tracks(gpx(points(ROWS) + f"<rte>{points(ROWS, 'rtept')}</rte>"))
    tracemalloc.start()
    same_line(read_tracks(data))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 1e6
