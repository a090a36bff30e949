"""A line that a watch recorded or a map drew: which parts and named places does the file hold?

GPX 1.1 (tracks and routes), KML (lines and recorded tracks) and GeoJSON, told apart by what stands in
the file, not by its name. A part is one unbroken line: two segments are never joined here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.drawing.drawn_features import HEIGHT_RANGE_M, LONGEST_NAME, refuse

Array = NDArray[np.float64]

MOST_TRACK_POINTS = 100_000
MOST_PARTS = 1000
MOST_PLACES = 200
FORMATS = "GPX, KML or GeoJSON"


@dataclass(frozen=True)
class Part:
    """One unbroken line, P points: longitude and latitude (P, 2), height and time (P,), nan unknown."""

    name: str
    degree: Array
    height_m: Array
    time_s: Array


@dataclass(frozen=True)
class Tracks:
    """Everything of a file that can become a course: its lines, its named places (name, degrees)."""

    parts: tuple[Part, ...]
    places: tuple[tuple[str, tuple[float, float]], ...] = ()
    is_drawing: bool = False


def read_tracks(data: bytes) -> Tracks:
    """Which lines and named places does this file hold? Raises BadInput in one clear line.

    is_drawing: a GeoJSON that says which line is which edge is a drawing already and is kept as it is.
    Source: GPX 1.1 schema, KML 2.3 (OGC 12-007r2), RFC 7946, from memory.
    Check: tests/unit/test_tracks.py (files that other libraries write), tests/properties/test_tracks_fuzz.py.
    """
    start = data.lstrip(b"\xef\xbb\xbf \t\r\n\x00")[:1]
    if not start:
        refuse("file", "empty", f"a track in {FORMATS}")
    if start == b"<" or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        from simrun.course.tracks.track_xml import parts_of_xml

        found = parts_of_xml(data)
    elif start in b"{[":
        from simrun.course.tracks.track_json import parts_of_json

        found = parts_of_json(data)
    else:
        refuse("file", "neither XML nor JSON", f"a track in {FORMATS}")
    if not found.parts and not found.is_drawing:
        refuse("file", "no line of at least 2 points", "a track, a route or a LineString")
    return found


class Builder:
    """Collects points of one file and refuses what is too much or lies nowhere."""

    def __init__(self) -> None:
        self.parts: list[Part] = []
        self.places: list[tuple[str, tuple[float, float]]] = []
        self.count = 0

    def point(self, longitude: float, latitude: float, label: str) -> tuple[float, float]:
        """A point that lies on the globe. Raises BadInput, with a hint where the order looks swapped."""
        self.count += 1
        if self.count > MOST_TRACK_POINTS:
            allowed = f"at most {MOST_TRACK_POINTS}"
            refuse("file", f"more than {MOST_TRACK_POINTS} points", allowed)
        if not (abs(longitude) <= 180 and abs(latitude) <= 90):
            swapped = abs(longitude) <= 90 and abs(latitude) <= 180
            hint = "; the two look swapped" if swapped else ""
            found = f"longitude {longitude:g}, latitude {latitude:g}"
            refuse(label, found, f"longitude -180 to 180, latitude -90 to 90{hint}")
        return longitude, latitude

    def place(self, name: str, at: tuple[float, float]) -> None:
        """Keep a named place; one without a name says nothing."""
        if plain_name(name) and len(self.places) < MOST_PLACES:
            self.places.append((plain_name(name), at))

    def part(self, name: str, rows: list[tuple[float, float, float, float]]) -> None:
        """Keep one unbroken line of (longitude, latitude, height, time); a lone point is none."""
        if len(rows) < 2:
            return
        if len(self.parts) >= MOST_PARTS:
            refuse("file", f"more than {MOST_PARTS} lines", f"at most {MOST_PARTS}")
        table = np.array(rows, dtype=float)
        low, high = HEIGHT_RANGE_M
        height = np.where((table[:, 2] >= low) & (table[:, 2] <= high), table[:, 2], np.nan)
        self.parts.append(Part(plain_name(name), table[:, :2], height, table[:, 3]))

    @property
    def tracks(self) -> Tracks:
        """What was collected."""
        return Tracks(tuple(self.parts), tuple(self.places))


def plain_name(text: str) -> str:
    """A name on one line of printable letters, cut where it is too long for us."""
    one_line = " ".join(text.split())
    return "".join(sign for sign in one_line if sign.isprintable())[:LONGEST_NAME].strip()
