"""Lines and named places of a GPX or KML file, by the local names of its elements."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from simrun.course.drawing.drawn_features import refuse
from simrun.course.tracks.track_file import Builder, Tracks

POINTS = ("trkpt", "rtept")
LINES = ("trkseg", "rte")
DEEPEST = 200
NAN = math.nan

ASKED_LATER = ("ele", "time", "name")
OF_A_POINT = (["trkpt"], ["rtept"], ["wpt"])
MOST_CHILDREN = 50
"""What a point is asked for is kept until it ends; everything else is let go at once."""

Row = tuple[float, float, float, float]


def parts_of_xml(data: bytes) -> Tracks:
    """Every track segment, route and line of an XML file. Raises BadInput.

    Read as a stream, each element let go once it is done. A document type, which is where entity bombs
    and look-ups of other files live, is refused: none of these formats needs one.
    """
    from xml.etree.ElementTree import ParseError

    from defusedxml.common import DefusedXmlException

    try:
        return _Reader().read(data)
    except ParseError as wrong:
        line, column = wrong.position
        refuse(
            f"line {line}, column {column + 1}", "not well-formed XML", "a whole GPX or KML file"
        )
    except DefusedXmlException:
        refuse("file", "a document type or entities", "plain GPX or KML without them")
    except (LookupError, ValueError):
        refuse("file", "an encoding that cannot be read", "save the file as UTF-8")


class _Reader:
    """One file on its way: the open elements, and what was collected of the line being read."""

    def __init__(self) -> None:
        self.built = Builder()
        self.rows: list[Row] = []
        self.when: list[float] = []
        self.path: list[str] = []
        self.name = ""
        self.place: tuple[float, float] | None = None

    def read(self, data: bytes) -> Tracks:
        """Go through the file once."""
        from defusedxml.ElementTree import iterparse

        open_elements: list[Any] = []
        events = iterparse(io.BytesIO(data), ("start", "end"), forbid_dtd=True)
        for event, element in events:
            tag = local(element.tag)
            if event == "start":
                self._opened(tag)
                open_elements.append(element)
                continue
            open_elements.pop()
            self.path.pop()
            self._closed(tag, element)
            element_is_needed = tag in ASKED_LATER and self.path[-1:] in OF_A_POINT
            if open_elements and not (element_is_needed and len(open_elements[-1]) < MOST_CHILDREN):
                open_elements[-1].remove(element)
        return self.built.tracks

    def _opened(self, tag: str) -> None:
        if not self.path and tag not in ("gpx", "kml"):
            refuse("file", f"XML of another kind (<{tag[:40]}>)", "a GPX or KML file")
        self.path.append(tag)
        if len(self.path) > DEEPEST:
            refuse("file", f"elements nested deeper than {DEEPEST}", "a plain GPX or KML file")
        if tag in ("trk", "rte", "Placemark", "wpt"):
            self.name, self.place = "", None
        if tag in (*LINES, "Track"):
            self.rows, self.when = [], []

    def _closed(self, tag: str, element: Any) -> None:
        parent = self.path[-1] if self.path else ""
        if tag == "name" and parent in ("trk", "rte", "Placemark"):
            self.name = element.text or ""
        elif tag in POINTS:
            self.rows.append(self._gpx_row(element))
        elif tag == "wpt":
            self.built.place(child_text(element, "name"), self._gpx_row(element)[:2])
        elif tag in LINES:
            self.built.part(self.name, self.rows)
        elif tag == "coordinates":
            self._coordinates(parent, element.text or "")
        elif tag == "when":
            self.when.append(seconds(element.text or ""))
        elif tag == "coord":
            self.rows.append(self._row((element.text or "").split()))
        elif tag == "Track":
            self._recorded()
        elif tag == "Placemark" and self.place:
            self.built.place(self.name, self.place)

    def _gpx_row(self, element: Any) -> Row:
        label = f"point {self.built.count + 1}"
        pair = [number(element.get(key, ""), f"{label}, {key}") for key in ("lon", "lat")]
        at = self.built.point(pair[0], pair[1], label)
        return *at, height(child_text(element, "ele")), seconds(child_text(element, "time"))

    def _row(self, cells: list[str]) -> Row:
        label = f"point {self.built.count + 1}"
        if len(cells) not in (2, 3):
            refuse(label, f"{len(cells)} numbers", "longitude, latitude and perhaps a height")
        pair = [number(cell, label) for cell in cells[:2]]
        at = self.built.point(pair[0], pair[1], label)
        return *at, height(cells[2]) if len(cells) == 3 else NAN, NAN

    def _coordinates(self, parent: str, text: str) -> None:
        if parent == "LineString":
            self.built.part(self.name, [self._row(cells) for cells in tuples(text)])
        elif parent == "Point":
            first = next(tuples(text), None)
            self.place = self._row(first)[:2] if first else None

    def _recorded(self) -> None:
        times = self.when if len(self.when) == len(self.rows) else [NAN] * len(self.rows)
        rows = [(*row[:3], time) for row, time in zip(self.rows, times, strict=True)]
        self.built.part(self.name, rows)


def local(tag: Any) -> str:
    """An element's name without its namespace: files are met with every one, and with none."""
    return str(tag).rpartition("}")[2]


def child_text(element: Any, tag: str) -> str:
    """The text of the first child of this name, or nothing."""
    return next((child.text or "" for child in element if local(child.tag) == tag), "")


def tuples(text: str) -> Iterator[list[str]]:
    """The coordinates of a KML line: tuples kept apart by blanks, numbers by commas."""
    return (part.strip(",").split(",") for part in text.split())


def number(text: str, label: str) -> float:
    """A finite number. Raises BadInput."""
    try:
        value = float(text)
    except ValueError:
        value = NAN
    if not math.isfinite(value):
        found = repr(text[:30]) if text else "missing"
        refuse(label, found, "a finite number of degrees")
    return value


def height(text: str) -> float:
    """A height in metres; nan where there is none that can be read."""
    try:
        value = float(text)
    except ValueError:
        return NAN
    return value if math.isfinite(value) else NAN


def seconds(text: str) -> float:
    """A moment in seconds; nan where there is none that can be read."""
    try:
        return datetime.fromisoformat(text.strip()).timestamp()
    except (ValueError, OverflowError, OSError):
        return NAN
