"""From a drawing's cross-cuts to a Strip: apron and run-out, bends, throats, marks, obstacles."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.course.drawing.drawn import DrawnCourse, DrawnMark, read_drawing
from simrun.course.drawing.drawn_checks import check_starting_places
from simrun.course.measured import gate_of_cut, measured_stations
from simrun.course.pieces import RUN_OUT_CELLS, RUN_OUT_M
from simrun.course.source import CourseSource
from simrun.course.strip import Gate, Mark, Obstacle, Side, Strip
from simrun.course.surface import footing_share

Array = NDArray[np.float64]

BEND_WITHIN_M = 60.0
"""A stretch whose middle bends more tightly than this radius is part of a bend."""

TURN_MARK_WITHIN_M = 40.0
"""How far from the middle of its bend a turn's mark may stand."""

LEAST_BEND_RAD = np.deg2rad(20.0)
"""Less than this in all is a kink, not a bend."""

NARROWS_BY = 0.7
"""A throat is where the course has come down to this share of the width it had before."""

OBSTACLE_BODY_M = 0.25
"""Obstacles are ringed by fixed bodies of this radius, near enough that nobody slips between."""

PASSING_ROOM_M = 0.6
"""So far off its outline an obstacle is passed: half of a body, half of the ring's, a hand (assumed)."""

OPEN_FROM_M = 0.9
"""With less than this between an obstacle and an edge nobody heads there (assumed)."""


@dataclass(frozen=True)
class Bend:
    """One bend of the drawn middle line: its cuts, side, angle and inside radius."""

    first_cut: int
    last_cut: int
    side: Side
    angle_rad: float
    radius_m: float


def strip_from_drawing(source: CourseSource) -> Strip:
    """The Strip of a drawn course; raises BadInput as `read_drawing` does."""
    assert source.drawing is not None
    drawn = read_drawing(source.drawing)
    check_starting_places(drawn.obstacles, source.stands)
    left, right = _with_ends(drawn, source.apron_m)
    station, finish = measured_stations(left, right, len(left) - 1 - RUN_OUT_CELLS)
    bends = find_bends(left, right, finish)
    gates = _gates(bends, drawn.turns, left, right, finish)
    side, radius, angle = _bend_columns(bends, len(left))
    obstacles, bodies = _obstacles(drawn, left, right)
    return Strip(
        left_m=left,
        right_m=right,
        station_m=station,
        height_m=_ends(drawn.height_m),
        footing=np.full(len(left) - 1, footing_share("grass")),
        left_edge=_ends(drawn.left_edge),
        right_edge=_ends(drawn.right_edge),
        bend_side=side,
        bend_radius_m=radius,
        bend_angle_rad=angle,
        gate_of_cut=gate_of_cut(gates, len(left)),
        gates=gates,
        section=np.zeros(len(left) - 1, dtype=np.int16),
        section_names=("course",),
        finish_cut=finish,
        obstacles_m=bodies,
        obstacles=obstacles,
        landmarks=_marks(drawn.landmarks, left, right, station),
        checkpoints=_marks(drawn.checkpoints, left, right, station),
        place=drawn.place,
    )


def _with_ends(drawn: DrawnCourse, apron_m: float) -> tuple[Array, Array]:
    """Ground behind the start line and after the finish, straight on."""
    left, right = drawn.left_m, drawn.right_m
    back, on = _forward(left[0], right[0]) * apron_m, _forward(left[-1], right[-1])
    after = [RUN_OUT_M, RUN_OUT_M + 1.0]
    return tuple(  # type: ignore[return-value]
        np.vstack([edge[0] - back, edge, *(edge[-1] + on * metres for metres in after)])
        for edge in (left, right)
    )


def _forward(left: Array, right: Array) -> Array:
    across = right - left
    return np.array([-across[1], across[0]]) / np.hypot(*across)


def _ends(values: NDArray) -> NDArray:
    """Values of the cuts or cells with those of the apron and of the run-out."""
    return np.concatenate([values[:1], values, np.repeat(values[-1:], RUN_OUT_CELLS)])


def find_bends(left_m: Array, right_m: Array, last: int) -> list[Bend]:
    """Where does the drawn course bend? Runs of cells that turn the same way, tightly enough."""
    across = right_m - left_m
    heading = np.unwrap(np.arctan2(across[:, 0], -across[:, 1]))
    turned = np.diff(heading)[:last]
    middle = (left_m + right_m) / 2
    length = np.maximum(np.hypot(*np.diff(middle, axis=0).T)[:last], 1e-6)
    sign = np.where(np.abs(turned) * BEND_WITHIN_M > length, np.sign(turned), 0).astype(int)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], sign, [0]])))
    found = []
    for first, end in pairwise(edges):
        angle = float(abs(turned[first:end].sum()))
        if sign[first] != 0 and angle >= LEAST_BEND_RAD:
            side = Side.LEFT if sign[first] > 0 else Side.RIGHT
            inner = (left_m if side == Side.LEFT else right_m)[first : end + 1]
            arc = float(np.hypot(*np.diff(inner, axis=0).T).sum())
            found.append(Bend(int(first), int(end), side, angle, arc / angle))
    return found


def _bend_columns(bends: list[Bend], count: int) -> tuple[NDArray[np.int8], Array, Array]:
    side = np.zeros(count, dtype=np.int8)
    radius, angle = np.full(count, np.inf), np.zeros(count)
    for bend in bends:
        covered = slice(bend.first_cut, bend.last_cut + 1)
        side[covered], radius[covered], angle[covered] = bend.side, bend.radius_m, bend.angle_rad
    return side, radius, angle


def _gates(
    bends: list[Bend], turns: tuple[DrawnMark, ...], left_m: Array, right_m: Array, last: int
) -> tuple[Gate, ...]:
    """Every bend and every throat, in the order of the race; a turn's mark names the nearest bend."""
    middle = (left_m + right_m) / 2
    names = {i: f"turn {i + 1}" for i in range(len(bends))}
    for mark in turns:
        away = [
            float(np.hypot(*(middle[b.first_cut : b.last_cut + 1] - mark.point_m).T).min())
            for b in bends
        ]
        if min(away, default=np.inf) > TURN_MARK_WITHIN_M:
            found = "no bend there"
            allowed = (
                f"a turn's mark stands within {TURN_MARK_WITHIN_M:.0f} m of a bend of "
                f"{np.rad2deg(LEAST_BEND_RAD):.0f} degrees or more, tighter than {BEND_WITHIN_M:.0f} m"
            )
            raise BadInput(Problem(f"turn {mark.name!r}", found, allowed))
        names[int(np.argmin(away))] = mark.name
    gates = [Gate(names[i], "turn", b.first_cut, b.last_cut, b.side) for i, b in enumerate(bends)]
    width = np.hypot(*(right_m - left_m).T)
    gates += [
        Gate(f"narrowing {i + 1}", "throat", cut, cut)
        for i, cut in enumerate(find_throats(width[: last + 1]))
        if not any(b.first_cut <= cut <= b.last_cut for b in bends)
    ]
    return tuple(sorted(gates, key=lambda gate: gate.first_cut))


def find_throats(width_m: Array) -> list[int]:
    """At which cuts has the course come down for good to less than NARROWS_BY of its width before?"""
    throats, before = [], 1
    while before < len(width_m):
        lower = np.flatnonzero(
            width_m[before:] < NARROWS_BY * np.maximum.accumulate(width_m[before:])
        )
        if not len(lower):
            break
        at = before + int(lower[0])
        while at + 1 < len(width_m) and width_m[at + 1] < width_m[at] - 1e-3:
            at += 1
        throats.append(at)
        before = at
    return throats


def _marks(
    marks: tuple[DrawnMark, ...], left_m: Array, right_m: Array, station_m: Array
) -> tuple[Mark, ...]:
    """Every mark at the place of the measured line that is nearest to the point drawn."""
    middle = (left_m + right_m) / 2
    fine = np.linspace(station_m[1], station_m[-1], 20 * len(station_m))
    path = np.stack([np.interp(fine, station_m, middle[:, axis]) for axis in (0, 1)], axis=1)
    return tuple(
        Mark(mark.name, float(fine[np.hypot(*(path - mark.point_m).T).argmin()])) for mark in marks
    )


def _obstacles(
    drawn: DrawnCourse, left_m: Array, right_m: Array
) -> tuple[tuple[Obstacle, ...], Array]:
    """What stands on the course, and the rings of fixed bodies round it (O, 3): x, y, radius."""
    rings = [np.zeros((0, 3)), *(_ring(outline) for _, outline in drawn.obstacles)]
    things = (_obstacle(name, outline, left_m, right_m) for name, outline in drawn.obstacles)
    return tuple(things), np.vstack(rings)


def _ring(outline_m: Array) -> Array:
    ring = np.vstack([outline_m, outline_m[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    count = max(4, int(np.ceil(along[-1] / OBSTACLE_BODY_M)))
    steps = np.linspace(0, along[-1], count + 1)[:-1]
    points = [np.interp(steps, along, ring[:, axis]) for axis in (0, 1)]
    return np.stack([*points, np.full(len(steps), OBSTACLE_BODY_M)], axis=1)


def _obstacle(name: str, outline_m: Array, left_m: Array, right_m: Array) -> Obstacle:
    from shapely import LineString, Polygon

    hull = Polygon(outline_m).convex_hull
    left, right = (hull.distance(LineString(edge)) >= OPEN_FROM_M for edge in (left_m, right_m))
    round_it = hull.buffer(PASSING_ROOM_M, quad_segs=2)
    return Obstacle(name, np.asarray(round_it.exterior.coords)[:-1], bool(left), bool(right))
