"""How fast would this runner go with nobody in the way? The plan, the reserve, the ground and the bends."""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.locate import across_m, beyond_m
from simrun.engine.kernel.places_now import planned_m_s
from simrun.laws.accelerate import free_acceleration_m_s2
from simrun.laws.bend import (
    bend_speed_m_s,
    free_beside_m,
    rounding_lead_m,
    rounding_radius_m,
    speed_before_bend_m_s,
)
from simrun.laws.follow import sway_margin_m
from simrun.laws.reserve import bearable_effort_m_s


@compiled
def wished_speed_m_s(
    me: Any, wander: Any, front: Any, ground: Any, settings: Any
) -> tuple[float, int]:
    """How fast would this runner go here with nobody near? Plan, wander, reserve, ground, bends ahead.

    And on which side is the inside of the bend that is minded, 0 where there is none.
    """
    cell = me.cell
    through, aside, half, _, _ = across_m(ground, cell, me.x, me.y)
    station = (1.0 - through) * ground[cell].station_m + through * ground[cell + 1].station_m
    share = ground[cell].pace_share
    part = max(0, min(int(station / settings.wander_step_m), len(wander) - 1))
    planned = planned_m_s(me, station, share, wander[part], front, settings) * me.race_share
    # Who is empty holds the critical speed, and in a wake as much more as that saves.
    most = bearable_effort_m_s(me.reserve_m, me.critical_m_s, settings.ease_s)
    level = min(planned, most / (1.0 - me.saved_share)) * share
    return slowed_for_bends(me, level, half, aside, ground, settings)


@compiled
def slowed_for_bends(
    me: Any, level: float, half: float, aside: float, ground: Any, settings: Any
) -> tuple[float, int]:
    """The wished speed once the bend here and those within braking distance are minded, and the inside of
    the nearest of them.

    Every bend is judged by the distance from its inside edge at which the runner is now; before the
    turn the swing out is taken off that. How wide the arc is depends on the room beside (`me.room_m`).
    """
    wished, cell, side = level, me.cell, 0
    reach = me.speed * me.speed / (2.0 * settings.comfortable_braking_m_s2) + 1.0
    in_bend = ground[cell].bend_side == ground[cell + 1].bend_side
    k = cell if in_bend else cell + 1
    while k < len(ground):
        cut = ground[k]
        if cut.bend_side != 0:
            lead = rounding_lead_m(cut.bend_half_cosine, me.room_m)
            distance = max(0.0, -beyond_m(ground, k, me.x, me.y) - lead)
            if k > cell + 1 and distance > reach:
                break
            side = cut.bend_side if side == 0 else side
            apex = half - cut.bend_side * aside
            if k > cell:
                apex -= settings.bend_rounding_room_m * cut.bend_half_cosine
            own = cut.bend_radius_m + max(0.0, apex)
            radius = rounding_radius_m(own, cut.bend_half_cosine, me.room_m)
            fast = bend_speed_m_s(
                level,
                radius,
                settings.sideways_limit_m_s2,
                settings.bend_cost,
                settings.gravity_m_s2,
            )
            wished = min(
                wished, speed_before_bend_m_s(fast, distance, settings.comfortable_braking_m_s2)
            )
        k = cut.next_bend
    return wished, side


@compiled
def rounding_room_m(side: int, speed: float, count: int, near: Any, settings: Any) -> float:
    """How much room do those on the outside leave for swinging out, the inside being at `side`?"""
    room = settings.bend_rounding_room_m
    sway = sway_margin_m(speed, settings.sway_m, settings.sway_per_speed_s)
    for n in range(count):
        seen = near[n]
        out = -side * seen.aside
        if (
            out > 0.0
            and seen.ahead >= -settings.bend_beside_behind_m
            and seen.ahead <= settings.bend_beside_ahead_m
        ):
            free = free_beside_m(
                out,
                seen.bodies_m,
                sway,
                settings.bend_rounding_least_m,
                settings.bend_rounding_room_m,
            )
            room = min(room, free)
    return room


@compiled
def free_along(speed: float, wished: float, settings: Any, step_s: float) -> float:
    """The acceleration toward the wished speed with nobody near: gathered slowly, shed at once."""
    constant = settings.start_constant_s if wished > speed else settings.steer_time_s
    free = free_acceleration_m_s2(speed, wished, constant, settings.acceleration_limit_m_s2, step_s)
    return max(free, -settings.braking_limit_m_s2)
