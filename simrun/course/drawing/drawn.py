"""A course drawn as GeoJSON: which cross-cuts, marks and obstacles does it give, in metres?

The drawing: two LineStrings with `edge` "left" and "right" (or several one after the other, where
the kind of edge changes), or one centre LineString with `width`; first points = ends of the start
line, last points = finish. `kind` of an edge: barrier, marked, open. Points with a `name` are
landmarks, checkpoints (`kind` "checkpoint") or name the nearest bend ("turn"). Polygons with a
`name` are obstacles.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput
from simrun.course.drawing.drawn_centre import lay_along
from simrun.course.drawing.drawn_checks import (
    BODY_ROOM_M,
    check_length,
    check_mark,
    check_obstacles,
    check_outline,
    outline,
)
from simrun.course.drawing.drawn_features import Feature, read_features, refuse, shown
from simrun.course.drawing.drawn_frame import Frame, frame_across, frame_along
from simrun.course.drawing.ribbon import Ribbon, join_edges
from simrun.course.source import Drawing
from simrun.course.strip import EdgeKind, Place

Array = NDArray[np.float64]
Kinds = NDArray[np.int8]

JOIN_M = 0.5
"""An edge drawn in several lines goes on where the line before ended, within this (assumed)."""

WIDEST_M = 1000.0

NEW_POINT_M = 0.05
"""A width told so near to a drawn point belongs to that point."""


@dataclass(frozen=True)
class DrawnMark:
    """A named point of the drawing, in the local frame."""

    name: str
    point_m: tuple[float, float]


@dataclass(frozen=True)
class DrawnCourse:
    """What a drawing gives, in the local frame: K cuts, K-1 cells.

    left_m, right_m (K, 2); left_edge, right_edge (K-1,): EdgeKind; height_m (K,): as drawn, zero
    unless every point of the edges carries a height. obstacles: name and outline (P, 2), the last
    point repeating the first. place: where the frame lies on the globe.
    """

    left_m: Array
    right_m: Array
    left_edge: Kinds
    right_edge: Kinds
    height_m: Array
    place: Place
    landmarks: tuple[DrawnMark, ...] = ()
    checkpoints: tuple[DrawnMark, ...] = ()
    turns: tuple[DrawnMark, ...] = ()
    obstacles: tuple[tuple[str, Array], ...] = ()


@dataclass(frozen=True)
class _Line:
    """One edge or the centre: points (A, 2), heights and widths (A,), kinds of its parts (A-1,)."""

    label: str
    points_m: Array
    height_m: Array
    kind: Kinds
    width_m: Array = field(default_factory=lambda: np.zeros(0))

    @property
    def kind_changes(self) -> NDArray[np.int64]:
        """The numbers of the points where the kind of edge changes."""
        return np.flatnonzero(np.diff(self.kind)) + 1


@lru_cache(maxsize=4)
def read_drawing(drawing: Drawing) -> DrawnCourse:
    """Which cuts, marks and obstacles does this drawing give? Raises BadInput in one clear line.

    Coordinates in the order latitude, longitude are told where that order leaves the allowed range,
    makes the course too long, or mirrors two edges; with a centre line alone they may not be.
    Source: RFC 7946 (GeoJSON), seen.
    Check: tests/unit/course/test_drawn.py, tests/properties/test_drawn_roundtrip.py.
    """
    try:
        return _course(read_features(drawing.text), drawing)
    except BadInput as error:
        raise error.in_file(drawing.file) from None


def _course(features: tuple[Feature, ...], drawing: Drawing) -> DrawnCourse:
    parts = _sorted_lines(features)
    for part in (part for side in parts.values() for part in side):
        check_length(part.label, part.degree)
    if parts["centre"]:
        frame, left, right, ribbon = _from_centre(parts["centre"][0], drawing)
    else:
        frame, left, right, ribbon = _from_edges(parts, drawing)
    ground = outline(ribbon.left_m, ribbon.right_m)
    obstacles = tuple(
        (f.name, frame.to_local_m(f.degree)) for f in features if f.shape == "Polygon"
    )
    check_obstacles(ground, obstacles)
    landmarks, checkpoints, turns = (
        _marks(features, kinds, frame) for kinds in (("", "landmark"), ("checkpoint",), ("turn",))
    )
    for mark in landmarks + checkpoints + turns:
        check_mark(ground, mark.name, mark.point_m)
    heights = (_height(left, ribbon.left_at) + _height(right, ribbon.right_at)) / 2
    return DrawnCourse(
        left_m=ribbon.left_m,
        right_m=ribbon.right_m,
        left_edge=_cell_kinds(left, ribbon.left_at),
        right_edge=_cell_kinds(right, ribbon.right_at),
        height_m=np.zeros(len(heights)) if np.isnan(heights).any() else heights,
        place=frame.place,
        landmarks=landmarks,
        checkpoints=checkpoints,
        turns=turns,
        obstacles=obstacles,
    )


def _sorted_lines(features: tuple[Feature, ...]) -> dict[str, list[Feature]]:
    """The lines of every edge, in the order of the file; a lone line is the centre."""
    lines = [f for f in features if f.shape == "LineString" and (f.edge or f.kind != "turn")]
    if len(lines) == 1 and not lines[0].edge:
        return {"left": [], "right": [], "centre": lines}
    for line in lines:
        allowed = "properties.edge is left, right or centre"
        if not line.edge:
            refuse(line.label, "a line that does not say which edge it is", allowed)
    parts = {edge: [f for f in lines if f.edge == edge] for edge in ("left", "right", "centre")}
    found = ", ".join(f"{len(side)} {edge}" for edge, side in parts.items())
    edges_only = bool(parts["left"] and parts["right"] and not parts["centre"])
    centre_only = len(parts["centre"]) == 1 and not parts["left"] and not parts["right"]
    if not (edges_only or centre_only):
        refuse("edges", f"lines drawn: {found}", "a left and a right edge, or one centre line")
    return parts


def _from_edges(
    parts: dict[str, list[Feature]], drawing: Drawing
) -> tuple[Frame, _Line, _Line, Ribbon]:
    first = parts["left"][0].degree[0], parts["right"][0].degree[0]
    frame = frame_across(*first)
    left = _joined(parts["left"], frame, drawing.left_edge)
    right = _joined(parts["right"], frame, drawing.right_edge)
    for at, line in ((0, "start"), (-1, "finish")):
        width = np.hypot(*(left.points_m[at] - right.points_m[at]))
        if not width >= BODY_ROOM_M:
            refuse(f"{line} line", f"{width:.2f} m wide", f"at least {BODY_ROOM_M} m, one body")
    check_outline(left.points_m, right.points_m, (left.label, right.label))
    kept = left.kind_changes, right.kind_changes
    ribbon = join_edges(left.points_m, right.points_m, kept)
    check_outline(ribbon.left_m, ribbon.right_m, (left.label, right.label))
    return frame, left, right, ribbon


def _joined(parts: list[Feature], frame: Frame, default: EdgeKind) -> _Line:
    """All lines of one edge as one; points that repeat the one before are dropped."""
    points = [frame.to_local_m(part.degree) for part in parts]
    for before, after, part in zip(points[:-1], points[1:], parts[1:], strict=True):
        gap = np.hypot(*(after[0] - before[-1]))
        if gap > JOIN_M:
            found = f"begins {gap:.1f} m away from where the line before it ends"
            refuse(part.label, found, f"lines of one edge join within {JOIN_M} m, in race order")
    kind = np.concatenate([np.full(len(p.degree), _kind(p, default)) for p in parts])
    height = np.concatenate([part.height_m for part in parts])
    return _clean(parts[0].label, np.vstack(points), height, kind[1:], np.zeros(len(kind)))


def _clean(label: str, points: Array, height: Array, kind: Kinds, width: Array) -> _Line:
    if not np.isfinite(points).all():
        refuse(label, "a point on the far side of the globe", "all points near the start line")
    moved = np.append(True, (np.diff(points, axis=0) != 0).any(axis=1))
    if moved.sum() < 2:
        refuse(label, "all points are the same", "at least 2 different points")
    return _Line(label, points[moved], height[moved], kind[moved[1:]].astype(np.int8), width[moved])


def _kind(part: Feature, default: EdgeKind) -> int:
    return int(EdgeKind[part.kind.upper()] if part.kind else default)


def _from_centre(part: Feature, drawing: Drawing) -> tuple[Frame, _Line, _Line, Ribbon]:
    different = np.flatnonzero((part.degree != part.degree[0]).any(axis=1))
    if not len(different):
        refuse(part.label, "all points are the same", "at least 2 different points")
    frame = frame_along(part.degree[0], part.degree[different[0]])
    points = frame.to_local_m(part.degree)
    if part.width is None and drawing.widths_m:
        points, height, width = _with_widths(points, part.height_m, drawing.widths_m)
    else:
        height, width = part.height_m, _widths(part, drawing)
    sides = []
    for default in (drawing.left_edge, drawing.right_edge):
        kind = np.full(len(points) - 1, _kind(part, default))
        sides.append(_clean(part.label, points, height, kind, width))
    line = sides[0]
    ribbon = lay_along(line.points_m, line.width_m, line.kind_changes, line.label)
    check_outline(ribbon.left_m, ribbon.right_m, (f"{part.label} left", f"{part.label} right"))
    return frame, sides[0], sides[1], ribbon


def _with_widths(
    points: Array, height_m: Array, widths_m: tuple[tuple[float, float], ...]
) -> tuple[Array, Array, Array]:
    """Points, heights and widths of a centre line that also has a point wherever a width is told."""
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    at, width = np.array(widths_m).T
    # A point that stands there already is not doubled: a step of a hair's breadth has no direction.
    new = [place for place in at if along[0] < place < along[-1]]
    new = [place for place in new if np.abs(along - place).min() > NEW_POINT_M]
    where = np.sort(np.concatenate([along, new]))
    x, y, height = (np.interp(where, along, row) for row in (*points.T, height_m))
    return np.stack([x, y], axis=1), height, np.interp(where, at, width)


def _widths(part: Feature, drawing: Drawing) -> Array:
    """The width at every point of a centre line, (A,), metres."""
    raw = drawing.width_m if part.width is None else part.width
    allowed = f"{BODY_ROOM_M} to {WIDEST_M:.0f} m: one number, or one for each of the points"
    rows = raw if isinstance(raw, list) else [raw] * len(part.degree)
    if len(rows) != len(part.degree):
        found = f"{len(rows)} widths for {len(part.degree)} points"
        refuse(f"{part.label}: properties.width", found, allowed)
    for row in rows:
        if not _is_width(row):
            found = "no width" if row is None else shown(row)
            refuse(f"{part.label}: properties.width", found, allowed)
    return np.array(rows, dtype=float)


def _is_width(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return BODY_ROOM_M <= value <= WIDEST_M


def _marks(
    features: tuple[Feature, ...], kinds: tuple[str, ...], frame: Frame
) -> tuple[DrawnMark, ...]:
    """The points of these kinds; a line of kind "turn" stands for its middle point."""
    marks = []
    for feature in features:
        is_line = feature.shape == "LineString" and not feature.edge and feature.kind == "turn"
        if (feature.shape == "Point" or is_line) and feature.kind in kinds:
            middle = feature.degree[len(feature.degree) // 2]
            x, y = frame.to_local_m(middle[None])[0]
            marks.append(DrawnMark(feature.name, (float(x), float(y))))
    return tuple(marks)


def _height(line: _Line, at: Array) -> Array:
    return np.interp(at, np.arange(len(line.height_m), dtype=float), line.height_m)


def _cell_kinds(line: _Line, at: Array) -> Kinds:
    """The kind of edge of every cell, (K-1,), from the drawn part its middle lies in."""
    part = np.floor((at[:-1] + at[1:]) / 2).astype(int)
    return line.kind[np.clip(part, 0, len(line.kind) - 1)]
