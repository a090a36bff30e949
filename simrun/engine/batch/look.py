"""Whom does one runner of a batch see, and whom may it touch within the step?

No list of squares: one thread looks at everybody in turn. Their order leaves no trace.
"""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.batch.lots import CLOSE_ROOM, FAR_M
from simrun.engine.kernel.look import (
    LOOK_ASIDE_M,
    LOOK_M,
    OTHER_GROUND_M,
    behind_fence,
    note_neighbour,
)
from simrun.engine.kernel.neighbours import CLOSE_M, write_down
from simrun.engine.kernel.step import NOBODY_ELSE


@compiled
def show(you: Any, i: int, me: Any, ground: Any) -> None:
    """Write down body `i` as others see it; nobody sees those who have left the course."""
    write_down(you, i, me, ground)
    if me.gone == 1:
        you.x, you.y = FAR_M, FAR_M


@compiled
def within_reach(i: int, me: Any, seen: Any, hits: Any) -> tuple[int, int]:
    """Write down the numbers of those within LOOK_M of runner `i`. How many, and how many are there?"""
    found, there = 0, 0
    for j in range(len(seen)):
        dx, dy = seen[j].x - me.x, seen[j].y - me.y
        there += int(seen[j].x < FAR_M)
        if dx * dx + dy * dy <= LOOK_M * LOOK_M and j != i:
            hits[found] = j
            found += 1
    return found, there


@compiled
def close_ones(me: Any, seen: Any, hits: Any, found: int, close: Any) -> int:
    """Write down the numbers of those whom somebody may touch within this step; returns how many."""
    count = 0
    for hit in range(found):
        you = seen[hits[hit]]
        dx, dy = you.x - me.x, you.y - me.y
        if dx * dx + dy * dy < CLOSE_M * CLOSE_M and count < CLOSE_ROOM:
            close[count] = hits[hit]
            count += 1
    return count


@compiled
def gather(
    me: Any,
    to_x: float,
    to_y: float,
    behind: float,
    ground: Any,
    seen: Any,
    hits: Any,
    found: int,
    there: int,
    near: Any,
) -> int:
    """Write down who of those within reach is ahead of and beside somebody, as the kernel's own `gather`."""
    if there < 2:
        return NOBODY_ELSE
    count, station_m = 0, ground[me.cell].station_m
    for hit in range(found):
        you = seen[hits[hit]]
        dx, dy = you.x - me.x, you.y - me.y
        ahead, aside = dx * to_x + dy * to_y, dx * to_y - dy * to_x
        if ahead < -behind or abs(aside) > LOOK_ASIDE_M or count >= len(near):
            continue
        far_off = you.fixed == 0 and abs(you.station_m - station_m) >= OTHER_GROUND_M
        if far_off and behind_fence(me, you, ground):
            continue
        note_neighbour(near[count], me, you, to_x, to_y, ground)
        count += 1
    return count
