"""One runner of a batch in touch with others: each adds up its own half of every push.

Pushes are whole grains, so that the two halves of a pair are one and the same number.
"""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.touch import (
    change_speed,
    give_way,
    grains_apart,
    grains_lost,
    overlap,
)


@compiled
def lose_approach(i: int, me: Any, after: Any, close: Any, count: int, friction: float) -> None:
    """Lose the speed at which this runner and those in touch close in, and some of their sliding."""
    mine = after[i]
    for c in range(count):
        you = after[close[c]]
        dx, dy = you.x - mine.x, you.y - mine.y
        wide = me.radius_m + you.radius_m
        if dx * dx + dy * dy < wide * wide:
            x, y = grains_lost(dx, dy, mine.vx - you.vx, mine.vy - you.vy, friction)
            me.push_x -= x
            me.push_y -= y
    change_speed(me)


@compiled
def push_off(me: Any, after: Any, close: Any, count: int) -> int:
    """Note this runner's push; a fixed body leaves the whole way to the other. 1 where any touched."""
    touched = 0
    for c in range(count):
        you = after[close[c]]
        x, y = grains_apart(you.x - me.x, you.y - me.y, me.radius_m + you.radius_m)
        if x != 0 or y != 0:
            ways = 1 + int(you.fixed)
            me.push_x -= ways * x
            me.push_y -= ways * y
            touched = 1
    return touched


@compiled
def part(i: int, me: Any, after: Any, ground: Any) -> None:
    """Carry out the push, and be seen there."""
    give_way(me, ground)
    after[i].x, after[i].y = me.x, me.y


@compiled
def overlap_left(me: Any, after: Any, close: Any, count: int) -> float:
    """The largest overlap that is left to this runner, as a share of a body's width."""
    largest = 0.0
    for c in range(count):
        largest = max(largest, overlap(me, after[close[c]]))
    return largest
