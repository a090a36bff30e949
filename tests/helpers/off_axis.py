"""Ten courses whose first narrowing does not lie straight ahead, and where its two flags stand.

Half of them come in from one side, by pieces; half are drawn, and their narrowing lies aside and askew, its
flags at the narrowest place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.course.drawing.drawn import DrawnCourse
from simrun.course.drawing.drawn_text import to_geojson
from simrun.course.strip import EdgeKind, Place
from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]

BEYOND_M = 150.0


@dataclass(frozen=True)
class Course:
    """A race day, and the two flags (2,) of its first narrowing, left and right, on the ground as drawn."""

    day: Scenario
    left_m: Array
    right_m: Array


ONE_SIDED = (
    # line, straight, taper, narrowing, side that comes in, boxes, arc
    (60.0, 120.0, 60.0, 8.0, "left", 10, False),
    (60.0, 120.0, 60.0, 8.0, "right", 10, True),
    (96.0, 250.0, 50.0, 8.0, "right", 32, True),
    (36.0, 80.0, 25.0, 5.0, "left", 9, True),
    (48.0, 200.0, 100.0, 12.0, "right", 16, False),
)

ASKEW = (
    # line, how far ahead, to the left, width, turned to the left by degrees, boxes, arc
    (60.0, 200.0, 20.0, 8.0, 10.0, 10, True),
    (96.0, 450.0, 24.0, 20.0, 7.0, 32, True),
    (96.0, 300.0, -43.0, 15.0, -8.0, 24, False),
    (40.0, 150.0, -15.0, 6.0, -5.0, 8, True),
    (30.0, 90.0, 8.0, 5.0, 6.0, 5, False),
)


@cache
def one_sided(number: int) -> Course:
    """By pieces: one edge runs straight on, the other comes in to it."""
    line, straight, taper, narrow, side, boxes, arc = ONE_SIDED[number]
    pieces: list[dict[str, Any]] = [
        {"piece": "straight", "length": straight, "width": line},
        {"piece": "narrowing", "name": "neck", "length": taper, "width": narrow, "side": side},
        {"piece": "straight", "length": BEYOND_M},
    ]
    ahead, half = straight + taper, line / 2
    left, right = (narrow - half, -half) if side == "left" else (half, half - narrow)
    flags = np.array([[ahead, left], [ahead, right]])
    return Course(_day({"pieces": pieces}, {}, line, boxes, flags if arc else None), *flags)


@cache
def askew(number: int) -> Course:
    """Drawn: from the line to two flags that stand aside and askew, and straight on behind them."""
    line, ahead, left, narrow, turned, boxes, arc = ASKEW[number]
    angle = math.radians(turned)
    onward, across = np.array(
        [[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]]
    )
    flags = np.array([ahead, left]) + np.outer([narrow / 2, -narrow / 2], across)
    room = line + 4.0
    edges = [
        np.array([[0.0, side * room / 2], flag, flag + BEYOND_M * onward])
        for side, flag in zip((1.0, -1.0), flags, strict=True)
    ]
    marked = np.full(2, EdgeKind.MARKED, dtype=np.int8)
    drawn = DrawnCourse(
        left_m=edges[0],
        right_m=edges[1],
        left_edge=marked,
        right_edge=marked,
        height_m=np.zeros(1),
        place=Place((0.0, 0.0), math.radians(35.0 * number), (-20.5, -35.25)),
    )
    files = {"course.geojson": to_geojson(drawn)}
    day = _day({"drawn": "course.geojson"}, files, line, boxes, flags if arc else None)
    return Course(day, *flags)


def _day(
    course: dict[str, Any], files: dict[str, str], line: float, boxes: int, about: Array | None
) -> Scenario:
    start: dict[str, Any] = {
        "width": line,
        "boxes": boxes,
        "box_width": line / boxes,
        "front_row": 3,
    }
    if about is not None:
        start |= {"shape": "arc", "aim": float(np.hypot(*about.mean(axis=0)))}
    document = {
        "name": "Off the axis",
        "clock": {"limit": "10 min"},
        "start": start,
        "course": course,
        "field": {"fill": True, "runners": 7},
    }
    return Scenario.assembled(document, files, "off_axis")


def off_axis() -> dict[str, Course]:
    """All ten by name."""
    found = {f"one-sided {i + 1}": one_sided(i) for i in range(len(ONE_SIDED))}
    return found | {f"askew {i + 1}": askew(i) for i in range(len(ASKEW))}
