"""Can this drawing be run? Outline, obstacles and marks are held against each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.course.drawing.drawn_features import ORDER_HINT, refuse

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

LONGEST_COURSE_M = 60_000.0
BODY_ROOM_M = 0.6
"""What a body needs to pass an obstacle (assumed; the same as the least width of a course)."""

FARTHEST_MARK_M = 200.0
"""A mark further than this from the ground is taken for a slip in its coordinates (assumed)."""

LONGEST_OUTLINES_M = 20_000.0
"""All obstacles together: their outlines become fixed bodies, and a point set far off by a slip of
its coordinates would make millions of them (assumed)."""


def check_length(label: str, degree: Array) -> None:
    """Refuse a line (P, 2) in degrees that is too long, and say so if the other order would do."""
    length = _geodesic_m(degree)
    if length <= LONGEST_COURSE_M:
        return
    fits = np.abs(degree[:, 0]).max() <= 90 and _geodesic_m(degree[:, ::-1]) <= LONGEST_COURSE_M
    looks = f"; looks like latitude, longitude: {ORDER_HINT}" if fits else ""
    allowed = f"at most {LONGEST_COURSE_M / 1000:.0f} km{looks}"
    refuse(label, f"{length / 1000:.0f} km long", allowed)


def _geodesic_m(degree: Array) -> float:
    from pyproj import Geod

    return float(Geod(ellps="WGS84").line_length(degree[:, 0], degree[:, 1]))


def outline(left_m: Array, right_m: Array) -> Polygon:
    """The whole ground between two edges, as one outline."""
    from shapely import Polygon

    return Polygon(np.vstack([left_m, right_m[::-1]]))


def check_outline(left_m: Array, right_m: Array, labels: tuple[str, str]) -> None:
    """Refuse edges that meet each other or themselves, run opposite ways, or are mirrored.

    Swapped coordinates mirror the ground, so with two edges they always show, here or at the
    length; a centre line alone looks plausible in either order and cannot be told.
    """
    for line, label in ((left_m, labels[0]), (right_m, labels[1])):
        where = _touches_itself(line)
        if where is not None:
            allowed = "the drawn course passes over the same ground once"
            refuse(label, f"crosses or touches itself behind the point {_spot(where)}", allowed)
    if not outline(left_m, right_m).is_valid:
        _refuse_outline(left_m, right_m, labels)
    if _signed_area_m2(left_m, right_m) > 0:
        found = "the left edge lies to the right of the way it is drawn"
        allowed = (
            "left and right as seen facing the course, drawn from start to finish"
            f" (also check the order: {ORDER_HINT})"
        )
        refuse(labels[0], found, allowed)


def _signed_area_m2(left_m: Array, right_m: Array) -> float:
    """Negative for a ground whose left edge is on the left."""
    x, y = np.vstack([left_m, right_m[::-1]]).T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def _refuse_outline(left_m: Array, right_m: Array, labels: tuple[str, str]) -> None:
    from shapely import LineString, is_valid_reason

    left, right = LineString(left_m), LineString(right_m)
    opposite = outline(left_m, right_m[::-1]).is_valid
    if opposite:
        refuse(labels[1], f"runs the opposite way to {labels[0]}", "both from start to finish")
    if left.intersects(right):
        point = left.intersection(right).representative_point()
        found = f"crosses or touches {labels[0]} near {_spot((point.x, point.y))}"
        refuse(labels[1], found, "the edges never meet")
    reason = is_valid_reason(outline(left_m, right_m))
    found = f"the start line or the finish line crosses an edge ({reason})"
    refuse("edges", found, "the first points are the start line, the last points the finish line")


def _touches_itself(line_m: Array) -> tuple[float, float] | None:
    """After which of its points does a polyline first meet itself? None if it never does."""
    from shapely import LineString, STRtree, linestrings

    if LineString(line_m).is_simple:
        return None
    pieces = np.asarray(linestrings(np.stack([line_m[:-1], line_m[1:]], axis=1)))
    one, other = STRtree(pieces).query(pieces, predicate="intersects")
    apart = np.flatnonzero(other > one + 1)
    if not len(apart):
        return _where_it_folds(line_m)
    x, y = line_m[one[apart].min()]
    return float(x), float(y)


def _where_it_folds(line_m: Array) -> tuple[float, float]:
    step = np.diff(line_m, axis=0)
    cosine = (step[:-1] * step[1:]).sum(axis=1) / np.hypot(*step[:-1].T) / np.hypot(*step[1:].T)
    x, y = line_m[int(cosine.argmin()) + 1]
    return float(x), float(y)


def _spot(point: tuple[float, float]) -> str:
    """A place as a reader finds it on the drawing: metres from the middle of the start line."""
    return f"{point[0]:.0f} m ahead of the start line and {point[1]:+.0f} m to its left"


def check_obstacles(ground: Polygon, obstacles: tuple[tuple[str, Array], ...]) -> None:
    """Refuse an obstacle that is not on the ground, is endless, or leaves no way past it."""
    from shapely import Polygon, unary_union

    shapes, outlines_m = [], 0.0
    for name, points in obstacles:
        shape = Polygon(points)
        label = f"obstacle {name!r}"
        if not (shape.is_valid and shape.area > 0):
            refuse(label, "its outline crosses itself", "a plain outline")
        outlines_m += shape.length
        if outlines_m > LONGEST_OUTLINES_M:
            found = f"{shape.length / 1000:.1f} km round"
            allowed = f"outlines of at most {LONGEST_OUTLINES_M / 1000:.0f} km in all"
            refuse(label, found, allowed)
        if not shape.intersects(ground):
            refuse(label, "is not on the course", "obstacles stand between the edges")
        if not _passable(ground, shape.buffer(BODY_ROOM_M)):
            refuse(label, "closes the whole width", f"at least {BODY_ROOM_M} m on one side of it")
        shapes.append(shape.buffer(BODY_ROOM_M / 2))
    if len(shapes) > 1 and not _passable(ground, unary_union(shapes)):
        names = ", ".join(repr(name) for name, _ in obstacles)
        refuse("obstacles", f"{names} together close the whole width", "a way past them")


def check_starting_places(
    obstacles: tuple[tuple[str, Array], ...], stands: tuple[tuple[int, Array], ...]
) -> None:
    """Refuse an obstacle that stands where somebody is to stand before the gun."""
    from shapely import Polygon, points

    for name, outline_m in obstacles:
        shape = Polygon(outline_m).buffer(BODY_ROOM_M / 2)
        for box, places_m in stands:
            if np.any(shape.intersects(points(places_m))):
                allowed = "another place for it, or that box in start.empty"
                refuse(f"obstacle {name!r}", f"stands where box {box} starts", allowed)


def _passable(ground: Polygon, closed: BaseGeometry) -> bool:
    """Does one piece of the ground that is left join the start line to the finish line?"""
    from shapely import LineString, get_parts

    ring = np.asarray(ground.exterior.coords)[:-1]
    half = len(ring) // 2
    start = LineString([ring[0], ring[-1]])
    finish = LineString([ring[half - 1], ring[half]])
    left = get_parts(ground.difference(closed))
    return any(part.intersects(start) and part.intersects(finish) for part in left)


def check_mark(ground: Polygon, name: str, point_m: tuple[float, float]) -> None:
    """Refuse a landmark, checkpoint or named turn that is nowhere near the course."""
    from shapely import Point

    away = float(ground.distance(Point(point_m)))
    if away > FARTHEST_MARK_M:
        allowed = f"at most {FARTHEST_MARK_M:.0f} m"
        refuse(f"point {name!r}", f"is {away:.0f} m away from the course", allowed)
