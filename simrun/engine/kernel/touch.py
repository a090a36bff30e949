"""Bodies that overlap are pushed apart, all at once, and lose the speed of their approach."""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.walls import between_edges
from simrun.laws.contact import GRAIN, grains, impulse_m_s, push_apart_m

TOUCHING_M = 0.001
"""Less overlap than this is left alone."""


@compiled
def part_bodies(bodies: Any, pairs: Any, count: int, sweeps: int, ground: Any) -> None:
    """Push overlapping bodies apart, and off the walls they are pushed into, at most `sweeps` times.

    Every sweep moves everybody at once.
    """
    for _ in range(sweeps):
        touched = False
        for p in range(count):
            me, you = bodies[pairs[p, 0]], bodies[pairs[p, 1]]
            touched |= _push(me, you)
        if not touched:
            return
        _carry_out(bodies, ground)


@compiled
def _push(me: Any, you: Any) -> bool:
    """Note the pushes of one pair; a fixed body leaves the whole way to the other. Did they touch?"""
    x, y = grains_apart(you.x - me.x, you.y - me.y, me.radius_m + you.radius_m)
    if x == 0 and y == 0:
        return False
    mine = 0 if me.fixed == 1 else 1 + you.fixed
    yours = 0 if you.fixed == 1 else 1 + me.fixed
    me.push_x -= mine * x
    me.push_y -= mine * y
    you.push_x += yours * x
    you.push_y += yours * y
    return True


@compiled
def grains_apart(dx: float, dy: float, wide: float) -> tuple[int, int]:
    """How far are two bodies pushed apart, each, (dx, dy) from one to the other? Grains; 0, 0: no touch."""
    apart2 = dx * dx + dy * dy
    if apart2 >= (wide - TOUCHING_M) ** 2 or apart2 < 1e-18:
        return 0, 0
    apart = math.sqrt(apart2)
    push = push_apart_m(apart, wide) / apart
    return grains(push * dx), grains(push * dy)


@compiled
def _carry_out(bodies: Any, ground: Any) -> None:
    for i in range(len(bodies)):
        give_way(bodies[i], ground)


@compiled
def give_way(me: Any, ground: Any) -> None:
    """Carry out the noted push of one body."""
    if me.push_x != 0 or me.push_y != 0:
        x, y = me.x + me.push_x / GRAIN, me.y + me.push_y / GRAIN
        me.x, me.y, me.cell = between_edges(x, y, me.cell, me.radius_m, ground)
        me.push_x = me.push_y = 0


@compiled
def lose_approach(bodies: Any, pairs: Any, count: int, friction: float) -> None:
    """Bodies in touch lose the speed at which they close in, and some of their sliding."""
    touched = False
    for p in range(count):
        me, you = bodies[pairs[p, 0]], bodies[pairs[p, 1]]
        dx, dy = you.x - me.x, you.y - me.y
        wide = me.radius_m + you.radius_m
        if dx * dx + dy * dy < wide * wide:
            touched |= _meet(me, you, dx, dy, friction)
    if touched:
        for i in range(len(bodies)):
            change_speed(bodies[i])


@compiled
def _meet(me: Any, you: Any, dx: float, dy: float, friction: float) -> bool:
    """Note the changes of speed of one touching pair, in grains. Did they close in?"""
    vx = me.speed * me.heading_x - you.speed * you.heading_x
    vy = me.speed * me.heading_y - you.speed * you.heading_y
    x, y = grains_lost(dx, dy, vx, vy, friction)
    if x == 0 and y == 0:
        return False
    me.push_x -= x
    me.push_y -= y
    you.push_x += x
    you.push_y += y
    return True


@compiled
def grains_lost(dx: float, dy: float, vx: float, vy: float, friction: float) -> tuple[int, int]:
    """Which change of speed do two bodies in touch give each other, in grains?

    (dx, dy) from one to the other, at (vx, vy) as seen from the other. 0, 0 where they do not close in.
    """
    apart = max(math.hypot(dx, dy), 1e-9)
    dx, dy = dx / apart, dy / apart
    along, across = impulse_m_s(vx * dx + vy * dy, vy * dx - vx * dy, friction)
    if along == 0.0:
        return 0, 0
    return grains(along * dx - across * dy), grains(along * dy + across * dx)


@compiled
def change_speed(me: Any) -> None:
    """Carry out the noted change. Nobody runs backwards: who is stopped stands and keeps facing on."""
    if me.push_x == 0 and me.push_y == 0:
        return
    vx = me.speed * me.heading_x + me.push_x / GRAIN
    vy = me.speed * me.heading_y + me.push_y / GRAIN
    me.push_x = me.push_y = 0
    along = vx * me.heading_x + vy * me.heading_y
    speed = math.hypot(vx, vy)
    if me.fixed == 1 or along <= 0.0 or speed < 1e-9:
        me.speed = 0.0
        return
    me.speed = speed
    me.heading_x, me.heading_y = vx / speed, vy / speed


@compiled
def largest_overlap(bodies: Any, pairs: Any, count: int) -> float:
    """The largest overlap left, as a share of a body's width."""
    largest = 0.0
    for p in range(count):
        largest = max(largest, overlap(bodies[pairs[p, 0]], bodies[pairs[p, 1]]))
    return largest


@compiled
def overlap(me: Any, you: Any) -> float:
    """By which share of their width do two bodies overlap?"""
    dx, dy = you.x - me.x, you.y - me.y
    wide = me.radius_m + you.radius_m
    apart2 = dx * dx + dy * dy
    return 1.0 - math.sqrt(apart2) / wide if apart2 < wide * wide else 0.0
