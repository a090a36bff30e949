"""Where does everybody stand before the gun? The start line, its boxes, rows and places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ROW_OFFSET_M = 0.30
"""The middle of a front-row runner stands this far behind the line: toes on the paint."""

TAPE_M = 0.01
"""Tapes are read to the centimetre, where nothing else is said."""

TAPE_REACH_M = 50.0
"""No tape that a crew lays out with is longer (assumed)."""


@dataclass(frozen=True)
class StartSpec:
    """The line as it is written: width, straight or arc about a point `aim_m` ahead, boxes, rows.

    gun: at which end of the line ("left", "middle", "right") the gun stands. tilt_deg: by how much the whole
    line is turned to the left about its middle, so that what is straight ahead of it lies aside. sideways_m:
    how far its middle lies to the left of the middle of the ground at the start, below zero to the right.
    """

    width_m: float
    shape: str
    aim_m: float | None
    box_width_m: float
    boxes: int
    front_row: int
    row_gap_m: float = 1.0
    gun: str = "middle"
    tilt_deg: float = 0.0
    sideways_m: float = 0.0


@dataclass(frozen=True)
class Box:
    """One team's marked space: its number and the two ends of its part of the line, (2,) each."""

    number: int
    left_m: Array
    right_m: Array


@dataclass(frozen=True)
class StartLine:
    """The painted line: boxes numbered from 1, left to right facing the course.

    line_m (P, 2): the paint from left to right; gun_m (2,): where the gun stands.
    """

    spec: StartSpec
    boxes: tuple[Box, ...]
    line_m: Array
    gun_m: Array

    @property
    def width_m(self) -> float:
        """How wide is the line?"""
        return self.spec.width_m

    def stand_m(self, box: NDArray, row: NDArray, file: NDArray, in_row: NDArray) -> Array:
        """Where stand the runners of `box`, `row` (from 1), `file` (from 0) of `in_row` abreast? (N, 2)"""
        spec = self.spec
        spread = (file + 0.5 - in_row / 2) * (spec.box_width_m / spec.front_row)
        offset = self._box_offset_m(box) + spread
        return paint_m(spec, offset, ROW_OFFSET_M + (row - 1) * spec.row_gap_m)

    def _box_offset_m(self, box: NDArray) -> Array:
        return (box - 0.5 - self.spec.boxes / 2) * self.spec.box_width_m

    def stand_middle_m(self, box: int) -> Array:
        """The middle of a box's front row, (2,)."""
        one = np.ones(1)
        return self.stand_m(one * box, one, one * 0, one)[0]


def paint_m(spec: StartSpec, right_of_middle_m: NDArray, behind_m: NDArray | float = 0.0) -> Array:
    """The point of the line so many metres to the right of its middle, or behind it: (P, 2).

    On an arc of radius D about the common point the distance to that point is D everywhere, so the
    ends lie D - sqrt(D^2 - (W/2)^2) further ahead than the middle. Offsets are measured across. A tilted line
    is the same, turned about its middle, and one that lies sideways the same, moved across. Check:
    tests/validation/test_geometry.py (bow of 2.136 m for 102 m about a point at 610 m),
    tests/validation/test_aimed.py, tests/validation/test_sideways.py.
    """
    points = turned_m(_own_m(spec, right_of_middle_m, behind_m), spec.tilt_deg)
    return points + middle_m(spec) if spec.sideways_m else points


def middle_m(spec: StartSpec) -> Array:
    """Where is the middle of the line, in the frame of the course? (2,)"""
    return np.array([0.0, spec.sideways_m])


def in_line_m(spec: StartSpec, points_m: Array) -> Array:
    """Points of the course (P, 2) as the line sees them: metres ahead of its middle, and to its left."""
    return turned_m(points_m - middle_m(spec), -spec.tilt_deg)


def turned_m(points_m: Array, left_deg: float) -> Array:
    """Points (P, 2) turned about the middle of the line by so many degrees to the left."""
    if not left_deg:
        return points_m
    cos, sin = np.cos(np.radians(left_deg)), np.sin(np.radians(left_deg))
    return np.asarray(points_m @ np.array([[cos, sin], [-sin, cos]]))


def _own_m(spec: StartSpec, right_of_middle_m: NDArray, behind_m: NDArray | float) -> Array:
    """The same in the line's own frame, whose first axis is straight ahead of it."""
    across = np.asarray(right_of_middle_m, dtype=float)
    if spec.shape != "arc" or spec.aim_m is None:
        ahead = np.broadcast_to(-np.asarray(behind_m, dtype=float), across.shape)
        return np.stack([ahead, -across], axis=-1)
    straight = np.sqrt(spec.aim_m**2 - across**2)
    away = 1 + np.asarray(behind_m) / spec.aim_m
    return np.stack([spec.aim_m - straight * away, -across * away], axis=-1)


def box_ends_m(spec: StartSpec) -> Array:
    """Where the boxes end and begin along the line, metres to the right of its middle: (B + 1,)."""
    return np.asarray((np.arange(spec.boxes + 1) - spec.boxes / 2) * spec.box_width_m)


def box_middles_m(spec: StartSpec) -> Array:
    """Where the middle of every box is along the line: (B,)."""
    return np.asarray((np.arange(spec.boxes) + 0.5 - spec.boxes / 2) * spec.box_width_m)


def bow_m(spec: StartSpec) -> float:
    """How far do the ends of an arc lie ahead of its middle? Zero for a straight line."""
    return abs(float(_own_m(spec, np.array([spec.width_m / 2]), 0.0)[0, 0]))


def build_start_line(spec: StartSpec) -> StartLine:
    """Lay out the line and its boxes, on the course's beginning."""
    half = spec.width_m / 2
    corners = paint_m(spec, box_ends_m(spec))
    boxes = tuple(Box(i + 1, corners[i], corners[i + 1]) for i in range(spec.boxes))
    gun = {"left": -half, "middle": 0.0, "right": half}[spec.gun]
    paint = paint_m(spec, np.linspace(-half, half, 65))
    return StartLine(spec, boxes, paint, paint_m(spec, np.array([gun]))[0])
