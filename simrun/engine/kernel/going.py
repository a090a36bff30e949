"""Carrying out what was decided: what it costs, the way, the edges."""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.places_now import tire
from simrun.engine.kernel.walls import hold_inside
from simrun.laws.reserve import effort_m_s, reserve_after_m
from simrun.state.arrays import NO_RACING

SET_OFF_M_S = 0.5
"""A runner once this fast has set off: a queue later on is shuffled through, not started anew."""
LEAST_TURNING_SPEED_M_S = 0.5


@compiled
def carry_on(me: Any, step_s: float, ground: Any, settings: Any) -> None:
    """Carry out what was decided: pay for it, move, stay between the edges."""
    spend(me, step_s, ground, settings)
    if me.races != NO_RACING:
        tire(me, step_s, settings)
    move(me, step_s)
    hold_inside(me, ground, settings.contact_friction)


@compiled
def spend(me: Any, step_s: float, ground: Any, settings: Any) -> None:
    """Take from the reserve what this step costs, or give back what it lets recover."""
    share = ground[me.cell].pace_share
    mean = max(0.0, me.speed + 0.5 * me.along * step_s)
    cost = effort_m_s(
        mean, me.along, share, settings.acceleration_cost_share, settings.gravity_m_s2
    )
    steady = mean / share * (1.0 - me.saved_share)
    me.reserve_m = reserve_after_m(
        me.reserve_m,
        me.full_m,
        cost * (1.0 - me.saved_share),
        me.critical_m_s,
        settings.dearer_share * max(0.0, steady - me.cruise_m_s),
        settings.recovery_rate,
        step_s,
    )


@compiled
def move(me: Any, step_s: float) -> None:
    """Carry out the accelerations of one runner: half of the turn, the way, the other half."""
    me.from_x, me.from_y, me.from_cell = me.x, me.y, me.cell
    me.heading_x, me.heading_y = me.face_x, me.face_y
    before = me.speed
    after = max(0.0, before + me.along * step_s)
    mean = 0.5 * (before + after)
    turn = 0.5 * me.aside * step_s / max(mean, LEAST_TURNING_SPEED_M_S)
    if turn != 0.0:
        turn_right(me, turn)
    me.x += mean * step_s * me.heading_x
    me.y += mean * step_s * me.heading_y
    if turn != 0.0:
        turn_right(me, turn)
    me.speed = after
    if after >= SET_OFF_M_S:
        me.off = 1


@compiled
def turn_right(me: Any, angle: float) -> None:
    """Turn the heading of one runner to the right."""
    cosine, sine = math.cos(angle), math.sin(angle)
    x = cosine * me.heading_x + sine * me.heading_y
    y = cosine * me.heading_y - sine * me.heading_x
    length = math.sqrt(x * x + y * y)
    me.heading_x, me.heading_y = x / length, y / length
