"""How is a course written as GeoJSON (RFC 7946), so that it can be read again or put on a map?"""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.course.drawing.drawn import DrawnCourse
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.strip import EdgeKind

Array = NDArray[np.float64]

DEGREE_DECIMALS = 11
"""A thousandth of a millimetre: the frame is squared on the start line, and on a line 3 m wide a
tenth of a millimetre would turn the finish, 300 m away, by a centimetre."""


def to_geojson(course: DrawnCourse, description: str = "") -> str:
    """The text of this course: edges, landmarks, checkpoints, turns and obstacles, one a line.

    Raises BadInput for a course that lies nowhere on the globe. A course run in laps is written,
    but passes over itself and cannot be read as a drawing.
    Check: tests/properties/test_drawn_roundtrip.py: read back, points within 2 mm.
    """
    if course.place.longitude_latitude_deg is None:
        problem = Problem("course", "lies nowhere on the globe", "a place in degrees is needed")
        raise BadInput(problem)
    frame = Frame(*course.place.longitude_latitude_deg, course.place.heading_rad)
    heights = course.height_m if course.height_m.any() else None
    features = _edges("left", course.left_m, course.left_edge, (frame, heights))
    features += _edges("right", course.right_m, course.right_edge, (frame, heights))
    for kind, marks in _marks_by_kind(course).items():
        for mark in marks:
            point = _degrees(np.array([mark.point_m]), (frame, None))[0]
            features.append(_feature("Point", point, {"name": mark.name, "kind": kind}))
    for name, points in course.obstacles:
        ring = [_degrees(points, (frame, None))]
        features.append(_feature("Polygon", ring, {"name": name, "kind": "obstacle"}))
    return _text(features, description)


def _marks_by_kind(course: DrawnCourse) -> dict[str, Any]:
    return {
        "landmark": course.landmarks,
        "checkpoint": course.checkpoints,
        "turn": course.turns,
    }


def _edges(
    edge: str, points_m: Array, kinds: NDArray[np.int8], where: tuple[Frame, Array | None]
) -> list[dict[str, Any]]:
    """One LineString for every run of cells with the same kind of edge."""
    frame, heights = where
    ends = [0, *(np.flatnonzero(np.diff(kinds)) + 1), len(kinds)]
    features = []
    for first, last in pairwise(ends):
        span = slice(first, last + 1)
        line = _degrees(points_m[span], (frame, None if heights is None else heights[span]))
        line = [p for k, p in enumerate(line) if k == 0 or p != line[k - 1]]
        line = line if len(line) > 1 else line * 2
        words = {"edge": edge, "kind": EdgeKind(int(kinds[first])).name.lower()}
        features.append(_feature("LineString", line, words))
    return features


def _degrees(points_m: Array, where: tuple[Frame, Array | None]) -> list[list[float]]:
    frame, heights = where
    rows = np.round(frame.to_degree(points_m), DEGREE_DECIMALS).tolist()
    if heights is None:
        return [list(row) for row in rows]
    return [[*row, round(float(h), 3)] for row, h in zip(rows, heights, strict=True)]


def _feature(shape: str, coordinates: Any, words: dict[str, str]) -> dict[str, Any]:
    geometry = {"type": shape, "coordinates": coordinates}
    return {"type": "Feature", "properties": words, "geometry": geometry}


def _text(features: list[dict[str, Any]], description: str) -> str:
    head = {"type": "FeatureCollection"} | ({"description": description} if description else {})
    rows = ",\n".join(json.dumps(feature, ensure_ascii=False) for feature in features)
    return json.dumps(head, ensure_ascii=False)[:-1] + ', "features": [\n' + rows + "\n]}\n"
