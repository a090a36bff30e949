"""Lines and named places of a GeoJSON that is no drawing of ours yet."""

from __future__ import annotations

import math
from typing import Any

from simrun.course.drawing.drawn_features import parsed, position, raw_features, refuse
from simrun.course.tracks.track_file import Builder, Tracks


def parts_of_json(data: bytes) -> Tracks:
    """Every line and named point of a GeoJSON. Raises BadInput.

    A file with properties.edge is a drawing; nothing of it is taken apart.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        refuse("file", "not UTF-8 text", "save the file as UTF-8")
    document = parsed(text)
    if isinstance(document, dict) and document.get("type") == "MultiLineString":
        document = {"type": "Feature", "geometry": document}
    features = list(raw_features(document))
    if any(_words(feature).get("edge") in ("left", "right") for feature in features):
        return Tracks((), is_drawing=True)
    built = Builder()
    for number, feature in enumerate(features, start=1):
        _take(built, f"feature {number}", feature)
    return built.tracks


def _words(feature: Any) -> dict[str, Any]:
    words = feature.get("properties") if isinstance(feature, dict) else None
    return words if isinstance(words, dict) else {}


def _take(built: Builder, label: str, feature: Any) -> None:
    shape = feature.get("geometry") if isinstance(feature, dict) else None
    if not isinstance(shape, dict):
        return
    name = _words(feature).get("name")
    name = name if isinstance(name, str) else ""
    kind, rows = shape.get("type"), shape.get("coordinates")
    if kind == "Point":
        at = position(label, rows)
        built.place(name, built.point(at[0], at[1], label))
    elif kind == "LineString":
        _line(built, label, name, rows)
    elif kind == "MultiLineString":
        for line in _list(label, rows):
            _line(built, label, name, line)


def _line(built: Builder, label: str, name: str, rows: Any) -> None:
    points = []
    for row in _list(label, rows):
        longitude, latitude, height = position(label, row)
        points.append((*built.point(longitude, latitude, label), height, math.nan))
    built.part(name, points)


def _list(label: str, rows: Any) -> list[Any]:
    if not isinstance(rows, list):
        refuse(label, "no list of points", "lists of longitude, latitude")
    return rows
