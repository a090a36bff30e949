"""Nobody crosses an edge: bodies are stopped by barriers, centres by paint and flags."""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.locate import across_m, cell_near

CLEARLY = 1.001
"""A little more than 1, so that rounding cannot decide otherwise than the distance itself would."""


@compiled
def hold_inside(me: Any, ground: Any, friction: float) -> None:
    """Bring this runner back between the edges and take its speed into the wall."""
    x, y, me.cell = between_edges(me.x, me.y, me.cell, me.radius_m, ground)
    if x != me.x or y != me.y:
        lose_speed_into_wall(me, x - me.x, y - me.y, friction)
        me.x, me.y = x, y


@compiled
def between_edges(
    x: float, y: float, cell: int, radius_m: float, ground: Any
) -> tuple[float, float, int]:
    """The point, pushed off the barriers near its cell and back between the edges; and its cell."""
    was, cell = cell, cell_near(ground, cell, x, y)
    if cell != was and overshoot_m(x, y, cell, ground) > 0.0:
        # It left the old cell through its edge, not through the cut: back to that edge first.
        x, y = off_own_edges(x, y, was, ground)
        cell = cell_near(ground, was, x, y)
    x, y = off_walls(x, y, cell, ground, radius_m)
    x, y = off_own_edges(x, y, cell, ground)
    cell = cell_near(ground, cell, x, y)
    _, aside, half, unit_x, unit_y = across_m(ground, cell, x, y)
    here = ground[cell]
    most = half - radius_m if here.right_barrier == 1 else half + here.right_reach_m
    least = radius_m - half if here.left_barrier == 1 else -half - here.left_reach_m
    if least > most:
        least = most = 0.5 * (least + most)
    if least <= aside <= most:
        return x, y, cell
    back = min(most, max(least, aside)) - aside
    x, y = x + back * unit_x, y + back * unit_y
    return x, y, cell_near(ground, cell, x, y)


@compiled
def overshoot_m(x: float, y: float, cell: int, ground: Any) -> float:
    """How far beyond the edges of its cell is the point, measured along the cuts? Negative: inside."""
    _, aside, half, _, _ = across_m(ground, cell, x, y)
    here = ground[cell]
    return max(aside - half - here.right_reach_m, -aside - half - here.left_reach_m)


@compiled
def off_own_edges(x: float, y: float, cell: int, ground: Any) -> tuple[float, float]:
    """The point, brought back square to them where it lies beyond the edges of its own cell."""
    a, b = ground[cell], ground[cell + 1]
    left_x, left_y = off_line(x, y, a.left_x, a.left_y, b.left_x, b.left_y, -a.left_reach_m, 1.0)
    right_x, right_y = off_line(
        x, y, a.right_x, a.right_y, b.right_x, b.right_y, -a.right_reach_m, -1.0
    )
    # Both pushes from the same point, added: left and right are treated alike to the last bit.
    return x + ((left_x - x) + (right_x - x)), y + ((left_y - y) + (right_y - y))


@compiled
def off_line(
    x: float,
    y: float,
    from_x: float,
    from_y: float,
    to_x: float,
    to_y: float,
    keep_m: float,
    inside: float,
) -> tuple[float, float]:
    """The point, at least `keep_m` off the line between two points: to its right where inside is 1,
    to its left where it is -1."""
    on_x, on_y = to_x - from_x, to_y - from_y
    long = math.sqrt(on_x * on_x + on_y * on_y)
    if long < 1e-6:
        return x, y
    off_m = inside * ((x - from_x) * on_y - (y - from_y) * on_x) / long
    if off_m >= keep_m:
        return x, y
    push = inside * (keep_m - off_m) / long
    return x + push * on_y, y - push * on_x


@compiled
def off_walls(x: float, y: float, cell: int, ground: Any, radius_m: float) -> tuple[float, float]:
    """The point, pushed off the barriers of its own cell and of both neighbours."""
    for c in range(max(0, cell - 1), min(len(ground) - 2, cell + 1) + 1):
        a, b = ground[c], ground[c + 1]
        left_x, left_y, right_x, right_y = x, y, x, y
        if a.left_barrier == 1:
            left_x, left_y = off_wall(x, y, a.left_x, a.left_y, b.left_x, b.left_y, radius_m)
        if a.right_barrier == 1:
            right_x, right_y = off_wall(x, y, a.right_x, a.right_y, b.right_x, b.right_y, radius_m)
        if left_x != x or left_y != y or right_x != x or right_y != y:
            x, y = x + ((left_x - x) + (right_x - x)), y + ((left_y - y) + (right_y - y))
    return x, y


@compiled
def off_wall(
    x: float, y: float, from_x: float, from_y: float, to_x: float, to_y: float, radius_m: float
) -> tuple[float, float]:
    """The point, pushed off the wall between two points until a body of `radius_m` has room."""
    wall_x, wall_y = to_x - from_x, to_y - from_y
    long2 = wall_x * wall_x + wall_y * wall_y
    off = (x - from_x) * wall_y - (y - from_y) * wall_x
    if off * off > CLEARLY * radius_m * radius_m * long2:
        return x, y  # clear of the whole line: most are, and a division is saved
    part = 0.0
    if long2 > 1e-18:
        part = min(1.0, max(0.0, ((x - from_x) * wall_x + (y - from_y) * wall_y) / long2))
    dx, dy = x - (from_x + part * wall_x), y - (from_y + part * wall_y)
    apart2 = dx * dx + dy * dy
    if apart2 >= radius_m * radius_m or apart2 < 1e-18:
        return x, y
    apart = math.sqrt(apart2)
    push = (radius_m - apart) / apart
    return x + push * dx, y + push * dy


@compiled
def lose_speed_into_wall(me: Any, push_x: float, push_y: float, friction: float) -> None:
    """A wall that pushes a runner back takes the speed into it, and some of the rest by friction."""
    push = math.hypot(push_x, push_y)
    if push < 1e-12:
        return
    off_x, off_y = push_x / push, push_y / push
    into = -me.speed * (me.heading_x * off_x + me.heading_y * off_y)
    if into <= 0.0:
        return
    vx = me.speed * me.heading_x + into * off_x
    vy = me.speed * me.heading_y + into * off_y
    kept = math.hypot(vx, vy)
    me.speed = max(0.0, kept - friction * into)
    if kept > 1e-9:
        me.heading_x, me.heading_y = vx / kept, vy / kept
