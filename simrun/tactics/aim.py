"""Which way does a runner head for the way it has chosen?

For a point of their own string about a second of running ahead: the next bend where that is further
away. Whoever was pushed aside takes the string from where it now stands. What an inner corner hides
is not headed for.
"""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.course.string import first_bend

SCAN_CUTS = 160
"""How many cuts ahead the string is looked for: two sharp turns and the straights between."""

VISIBLE_MARGIN_M = 0.30
"""A runner heads past a corner at least this far off it."""
TINY_M = 1e-6
"""Nothing nearer has a direction."""


@compiled
def aim_on_string(
    x: float,
    y: float,
    cell: int,
    reach_m: float,
    cuts: Any,
    margin_left: Any,
    margin_right: Any,
    gives_m: Any,
    shift_m: float,
) -> tuple[float, float]:
    """The point to head for: of their own string, `reach_m` ahead or more, as far as it can be seen.

    margin_left, margin_right (K,): the runner's own margins at every cut; gives_m, shift_m: as of
    `first_bend`.
    Check: tests/unit/tactics/test_aim.py.
    """
    last = min(cell + SCAN_CUTS, len(cuts) - 1)
    from_x, from_y, from_cut, left_m = x, y, cell, reach_m
    for bend in range(SCAN_CUTS):
        to_x, to_y, to_cut = first_bend(
            from_x, from_y, from_cut, last, cuts, margin_left, margin_right, gives_m, shift_m
        )
        distance = math.hypot(to_x - from_x, to_y - from_y)
        if distance >= left_m or to_cut >= last:
            if bend == 0:
                return to_x, to_y
            part = left_m / distance if distance > left_m else 1.0
            aim_x = from_x + part * (to_x - from_x)
            aim_y = from_y + part * (to_y - from_y)
            return _seen(x, y, cell, to_cut, aim_x, aim_y, cuts)
        left_m -= distance
        from_x, from_y, from_cut = to_x, to_y, to_cut
    return from_x, from_y


@compiled
def _seen(
    x: float, y: float, cell: int, aim_cut: int, aim_x: float, aim_y: float, cuts: Any
) -> tuple[float, float]:
    """The aim, or a point in the nearest direction that passes every corner up to `aim_cut`."""
    on_x, on_y = aim_x - x, aim_y - y
    for k in range(aim_cut, cell, -1):
        if (
            -cuts[k].unit_y * (aim_x - cuts[k].middle_x)
            + cuts[k].unit_x * (aim_y - cuts[k].middle_y)
            < 0.0
        ):
            continue
        margin = min(VISIBLE_MARGIN_M, 0.5 * cuts[k].width_m)
        ax = cuts[k].left_x + cuts[k].unit_x * margin - x
        ay = cuts[k].left_y + cuts[k].unit_y * margin - y
        bx = cuts[k].right_x - cuts[k].unit_x * margin - x
        by = cuts[k].right_y - cuts[k].unit_y * margin - y
        if ax * on_y - ay * on_x > 0.0:
            on_x, on_y = ax, ay
        elif bx * on_y - by * on_x < 0.0:
            on_x, on_y = bx, by
    return x + on_x, y + on_y


@compiled
def lengthened(
    x: float, y: float, aim_x: float, aim_y: float, least_m: float
) -> tuple[float, float]:
    """The aim, or the point `least_m` on in its direction where it lies nearer. An aim is a direction.

    The corner that hides the way can lie millimetres off: headed for as a place it is overshot, turned back
    to and overshot again, for ever. Range of `least_m`: 0.2 to 1 m; the whole reach would lead past tight
    corners. Source: an assumption of our own.
    Check: tests/unit/tactics/test_aim.py, tests/validation/test_no_lock.py.
    """
    on_x, on_y = aim_x - x, aim_y - y
    distance = math.hypot(on_x, on_y)
    if distance >= least_m or distance < TINY_M:
        return aim_x, aim_y
    return x + on_x * (least_m / distance), y + on_y * (least_m / distance)


@compiled
def toward(
    x: float, y: float, aim_x: float, aim_y: float, cuts: Any, cell: int
) -> tuple[float, float]:
    """The unit vector from (x, y) to the aim; straight ahead in the cell once that is reached."""
    on_x, on_y = aim_x - x, aim_y - y
    length = math.hypot(on_x, on_y)
    if length < TINY_M:
        return -cuts[cell].unit_y, cuts[cell].unit_x
    return on_x / length, on_y / length
