"""A line that a watch recorded or a map drew: which parts and named places does the file hold?

GPX 1.1 (tracks and routes), KML (lines and recorded tracks) and GeoJSON, told apart by what stands in
the file, not by its name. A part is one unbroken line: two segments are never joined here.
"""

from __future__ import annotations

from simrun.course.drawing.drawn_features import refuse
from simrun.course.tracks.track_json import parts_of_json
from simrun.course.tracks.track_lines import Tracks
from simrun.course.tracks.track_xml import parts_of_xml

FORMATS = "GPX, KML or GeoJSON"


def read_tracks(data: bytes) -> Tracks:
    """Which lines and named places does this file hold? Raises BadInput in one clear line.

    is_drawing: a GeoJSON that says which line is which edge is a drawing already and is kept as it is.
    Source: GPX 1.1 schema, KML 2.3 (OGC 12-007r2), RFC 7946, from memory.
    Check: tests/unit/course/test_tracks.py (files that other libraries write),
    tests/properties/test_tracks_fuzz.py.
    """
    start = data.lstrip(b"\xef\xbb\xbf \t\r\n\x00")[:1]
    if not start:
        refuse("file", "empty", f"a track in {FORMATS}")
    if start == b"<" or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        found = parts_of_xml(data)
    elif start in b"{[":
        found = parts_of_json(data)
    else:
        refuse("file", "neither XML nor JSON", f"a track in {FORMATS}")
    if not found.parts and not found.is_drawing:
        refuse("file", "no line of at least 2 points", "a track, a route or a LineString")
    return found
