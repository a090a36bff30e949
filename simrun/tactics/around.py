"""Which way past something that stands on the course? Seen from afar, on the side that turns less.

Somebody who only looks a few strides ahead runs into the middle of a wide barn and stands there.
"""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled

LONGEST_SEEN_M = 120.0
"""Nothing further off is minded (assumed)."""


@compiled
def past_obstacles(
    x: float, y: float, aim_x: float, aim_y: float, ways: Any
) -> tuple[float, float]:
    """The aim, or the corner to pass where the nearest thing on the straight line to it would be run into.

    ways.hull_m (V, 2): the corners of convex outlines with room for a body; of thing o those from
    ways.hull_begins[o] to ways.hull_begins[o + 1]; ways.hull_open (O, 2): can it be passed on the left, on
    the right? Of two open sides that turn alike neither is taken, so that a mirrored race is mirrored.
    Check: tests/unit/tactics/test_around.py, tests/validation/test_obstacles.py.
    """
    long = math.hypot(aim_x - x, aim_y - y)
    if long < 1e-6:
        return aim_x, aim_y
    on_x, on_y = (aim_x - x) / long, (aim_y - y) / long
    nearest, thing = min(long, LONGEST_SEEN_M), -1
    for o in range(len(ways.hull_begins) - 1):
        away = meets_after_m(
            x, y, on_x, on_y, ways.hull_begins[o], ways.hull_begins[o + 1], ways.hull_m
        )
        if 0.0 < away < nearest:
            nearest, thing = away, o
    if thing < 0:
        return aim_x, aim_y
    return corner_to_pass(x, y, on_x, on_y, aim_x, aim_y, thing, ways)


@compiled
def meets_after_m(
    x: float, y: float, on_x: float, on_y: float, begin: int, end: int, hull_m: Any
) -> float:
    """After how many metres straight on is this outline met? Negative: not at all, or from within it."""
    first, last = 1e9, -1e9
    was = end - 1
    was_left = on_x * (hull_m[was, 1] - y) - on_y * (hull_m[was, 0] - x)
    for v in range(begin, end):
        left = on_x * (hull_m[v, 1] - y) - on_y * (hull_m[v, 0] - x)
        if (left > 0.0) != (was_left > 0.0):
            share = was_left / (was_left - left)
            at_x = hull_m[was, 0] + share * (hull_m[v, 0] - hull_m[was, 0])
            at_y = hull_m[was, 1] + share * (hull_m[v, 1] - hull_m[was, 1])
            ahead = on_x * (at_x - x) + on_y * (at_y - y)
            first, last = min(first, ahead), max(last, ahead)
        was, was_left = v, left
    return first if first <= last else -1.0


@compiled
def corner_to_pass(
    x: float, y: float, on_x: float, on_y: float, aim_x: float, aim_y: float, thing: int, ways: Any
) -> tuple[float, float]:
    """The outermost corner on the side that is open and turns less; the aim where neither is."""
    left_angle, right_angle, left, right = -10.0, 10.0, 0, 0
    for v in range(ways.hull_begins[thing], ways.hull_begins[thing + 1]):
        dx, dy = ways.hull_m[v, 0] - x, ways.hull_m[v, 1] - y
        angle = math.atan2(on_x * dy - on_y * dx, on_x * dx + on_y * dy)
        if angle > left_angle:
            left_angle, left = angle, v
        if angle < right_angle:
            right_angle, right = angle, v
    if ways.hull_open[thing, 0] == 0:
        left_angle = 10.0
    if ways.hull_open[thing, 1] == 0:
        right_angle = -10.0
    if left_angle == -right_angle:
        return aim_x, aim_y
    corner = left if left_angle < -right_angle else right
    return ways.hull_m[corner, 0], ways.hull_m[corner, 1]
