"""The one kernel: everybody looks at the same moment, then everybody moves.

It composes the laws and tactics, allocates nothing, and gives the same bits for the same seed whatever
the order of the runners.
"""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.going import LEAST_TURNING_SPEED_M_S, carry_on
from simrun.engine.kernel.hooked import own_offset_m, own_wish_m_s
from simrun.engine.kernel.locate import across_m, beyond_m
from simrun.engine.kernel.look import (
    BEHIND_M,
    chosen_offset_m,
    follow,
    free_track_m,
    gather,
    step_around,
    waited_for_s,
    wake_share,
)
from simrun.engine.kernel.neighbours import close_pairs, sort_bodies
from simrun.engine.kernel.places_now import take_places, weigh_race
from simrun.engine.kernel.touch import largest_overlap, lose_approach, part_bodies
from simrun.engine.kernel.wish import free_along, rounding_room_m, wished_speed_m_s
from simrun.laws.grip import shared_grip
from simrun.laws.set_off import wait_after_step_s, whole_steps
from simrun.state.arrays import GONE, RACES
from simrun.tactics.aim import aim_on_string, lengthened, toward
from simrun.tactics.around import past_obstacles
from simrun.tactics.company import note_company
from simrun.tactics.shift import shifted_m

PLACES_S = 1.0
"""Everybody who races knows their own place anew once a second."""

SURELY_ON = 0.7
"""Who faces so much along the cut before it faces on along the way there too: cells turn less than that."""
NOBODY_ELSE = -1
"""In place of a count of neighbours: there is no other body on the course."""
WALKING_M_S = 1.0
"""A runner slower than this (who has set off) steps around somebody who stays where they are."""


@compiled
def run_steps(
    first: int,
    steps: int,
    step_s: float,
    frame_every: int,
    alone: int,
    bodies: Any,
    ways: Any,
    ground: Any,
    settings: Any,
    tape: Any,
    scratch: Any,
) -> int:
    """Run so many steps; returns how many were run before everybody was gone.

    alone: 1 switches every meeting of bodies off (fixed bodies too). Frames go to the tape every
    `frame_every` steps; 0 writes none.
    """
    for step in range(first, first + steps):
        if frame_every > 0 and step % frame_every == 0:
            write_frame(step // frame_every, bodies, tape)
        if one_step(step, step_s, alone, bodies, ways, ground, settings, tape, scratch) == 0:
            return step - first + 1
    return steps


@compiled
def one_step(
    step: int,
    step_s: float,
    alone: int,
    bodies: Any,
    ways: Any,
    ground: Any,
    settings: Any,
    tape: Any,
    scratch: Any,
) -> int:
    """One tick of the clock; returns how many are still on the course.

    Everybody looks up for the way ahead and for a gap a few times a second, whatever the step, each at
    moments of their own (`look_phase`), and watches the others all the time.
    """
    interval = max(1, whole_steps(settings.look_interval_s, step_s))
    total, running, pairs = 0, 0, 0
    if alone == 0:
        total = sort_bodies(bodies, ground, scratch.begins, scratch.seen)
        pairs = close_pairs(scratch.begins, scratch.seen, total, scratch.pairs)
    if len(scratch.ranks) > 0 and step % max(1, whole_steps(PLACES_S, step_s)) == 0:
        take_places(bodies, ground, scratch.ranks, settings)
    for i in range(len(bodies)):
        if bodies[i].gone == 0 and bodies[i].fixed == 0:
            running += 1
            look_up = (step + int(bodies[i].look_phase * interval)) % interval == 0 or step == 0
            if look_up:
                left, right = ways.margin_left[i], ways.margin_right[i]
                look_ahead(bodies[i], left, right, ways, ground, settings)
                if bodies[i].races >= RACES:
                    weigh_race(i, bodies[i], ways.wander[i], ways, ground, settings, tape)
            decide(
                i,
                step_s,
                look_up,
                total,
                bodies,
                ways.wander[i],
                ways.front_m_s,
                ground,
                settings,
                scratch,
                step * step_s,
                ways.own,
            )
    for i in range(len(bodies)):
        if bodies[i].gone == 0 and bodies[i].fixed == 0:
            carry_on(bodies[i], step_s, ground, settings)
    if pairs > 0:
        lose_approach(bodies, scratch.pairs, pairs, settings.contact_friction)
        part_bodies(bodies, scratch.pairs, pairs, settings.contact_sweeps, ground)
    for i in range(len(bodies)):
        if bodies[i].gone == 0 and bodies[i].fixed == 0:
            face_on(bodies[i], ground)
        if bodies[i].cell > bodies[i].from_cell and bodies[i].gone == 0:
            note_crossings(i, bodies[i], step * step_s, step_s, ground, tape)
    if pairs > 0:
        left = largest_overlap(bodies, scratch.pairs, pairs)
        tape.overlap[0] = max(tape.overlap[0], left)
    return running


@compiled
def look_ahead(me: Any, left: Any, right: Any, ways: Any, ground: Any, settings: Any) -> None:
    """Find the point of their own way to head for; left, right (K,): their own margins."""
    reach = max(1.0, settings.aim_ahead_s * me.speed)
    aim_x, aim_y = aim_on_string(
        me.x, me.y, me.cell, reach, ground, left, right, ways.gives_m, me.shift_m
    )
    aim_x, aim_y = past_obstacles(me.x, me.y, aim_x, aim_y, ways)
    me.aim_x, me.aim_y = lengthened(me.x, me.y, aim_x, aim_y, settings.aim_least_m)


@compiled
def decide(
    i: int,
    step_s: float,
    look_up: bool,
    total: int,
    bodies: Any,
    wander: Any,
    front: Any,
    ground: Any,
    settings: Any,
    scratch: Any,
    t_s: float,
    own: Any,
) -> None:
    """What does runner `i` do in this step? Accelerations along and aside, and the wait to set off.

    own: hooks of a behaviour of one's own; without one, None, nothing of them is compiled.
    """
    me, count = bodies[i], NOBODY_ELSE
    near, worth = scratch.near, scratch.worth
    to_x, to_y, side = want(me, wander, front, ground, settings)
    if total > 1:
        count = gather(i, me, to_x, to_y, behind_m(side, settings), ground, scratch)
    if own is not None:
        me.wished_m_s = own_wish_m_s(i, me, max(count, 0), t_s, ground, near, own)
    offset = looked_aside_m(
        me, step_s, look_up, to_x, to_y, side, count, near, worth, ground, settings
    )
    if own is not None and look_up and count != NOBODY_ELSE:
        widest_m = settings.tracks_a_side * settings.track_width_m
        offset = own_offset_m(i, me, offset, widest_m, count, t_s, ground, near, own)
    act(me, step_s, look_up, to_x, to_y, offset, count, near, settings)


@compiled
def want(me: Any, wander: Any, front: Any, ground: Any, settings: Any) -> tuple[float, float, int]:
    """Set the wished speed. Which way is the aim, and on which side the inside of the bend that is minded?"""
    me.wished_m_s, side = wished_speed_m_s(me, wander, front, ground, settings)
    to_x, to_y = toward(me.x, me.y, me.aim_x, me.aim_y, ground, me.cell)
    return to_x, to_y, side


@compiled
def behind_m(side: int, settings: Any) -> float:
    """How far back does somebody look? Beside a bend further than else."""
    return BEHIND_M if side == 0 else settings.bend_beside_behind_m


@compiled
def looked_aside_m(
    me: Any,
    step_s: float,
    look_up: bool,
    to_x: float,
    to_y: float,
    side: int,
    count: int,
    near: Any,
    worth: Any,
    ground: Any,
    settings: Any,
) -> float:
    """On which track goes somebody who sees these `count` neighbours? NOBODY_ELSE: has the course alone."""
    me.saved_share = 0.0
    if count == NOBODY_ELSE:
        return me.kept_m
    ease_room(me, side, count, near, settings, step_s)
    headwind = ground[me.cell].headwind_m_s
    me.saved_share = wake_share(me.speed, headwind, count, near, settings)
    if look_up:
        return chosen_offset_m(me, to_x, to_y, count, ground, near, worth, settings)
    return me.kept_m


@compiled
def act(
    me: Any,
    step_s: float,
    look_up: bool,
    to_x: float,
    to_y: float,
    offset: float,
    count: int,
    near: Any,
    settings: Any,
) -> None:
    """Accelerate along and aside on the track that was chosen, or wait to set off."""
    along = free_along(me.speed, me.wished_m_s, settings, step_s)
    push, blocked_s = 0.0, 0.0
    if count != NOBODY_ELSE:
        if look_up:
            me.shift_m = shifted_m(
                me.shift_m,
                offset,
                settings.look_interval_s,
                settings.shift_over_s,
                settings.shift_back_s,
            )
        to_right = me.heading_x * to_y - me.heading_y * to_x
        me.kept_m = offset - me.speed * to_right * step_s
        far = max(2.0, settings.aim_ahead_s * me.speed)
        long = math.sqrt(far * far + offset * offset)
        cosine, sine = far / long, offset / long
        if me.off == 1 and me.speed < WALKING_M_S:
            cosine, sine = step_around(cosine, sine, offset, to_right, count, near, settings)
        if look_up and me.races == RACES:
            note_company(me, count, near, settings)
            me.gap_m = free_track_m(me.speed, cosine, sine, count, near, settings)
        along, push = follow(me.speed, me.wished_m_s, along, cosine, sine, count, near, settings)
        if me.off == 0:
            blocked_s = waited_for_s(cosine, sine, count, near, settings)
        # To the right of (to_x, to_y) lies (to_y, -to_x).
        to_x, to_y = cosine * to_x + sine * to_y, cosine * to_y - sine * to_x
    stands = me.wait_s > 0.0 or blocked_s > 0.0
    me.wait_s = wait_after_step_s(me.wait_s, blocked_s, step_s)
    if stands:
        me.along, me.aside = -me.speed / step_s, 0.0
        me.face_x, me.face_y = me.heading_x, me.heading_y
        return
    steer(me, to_x, to_y, along, push, step_s, settings)


@compiled
def ease_room(me: Any, side: int, count: int, near: Any, settings: Any, step_s: float) -> None:
    """Give or take the room for swinging out within the time that a heading takes to turn."""
    room = settings.bend_rounding_room_m
    if side != 0:
        room = rounding_room_m(side, me.speed, count, near, settings)
    me.room_m += (room - me.room_m) * (1.0 - math.exp(-step_s / settings.steer_time_s))


@compiled
def face_on(me: Any, ground: Any) -> None:
    """Nobody faces backward: what a contact or a turn left of it is taken off heading and speed.

    Check: tests/validation/test_no_lock.py.
    """
    cut = ground[me.cell]
    if me.heading_y * cut.unit_x - me.heading_x * cut.unit_y >= SURELY_ON:
        return
    _, _, _, unit_x, unit_y = across_m(ground, me.cell, me.x, me.y)
    if me.heading_y * unit_x - me.heading_x * unit_y >= 0.0:
        return
    to_right = me.heading_x * unit_x + me.heading_y * unit_y
    me.speed *= abs(to_right)
    if to_right == 0.0:
        me.heading_x, me.heading_y = -unit_y, unit_x
    else:
        side = math.copysign(1.0, to_right)
        me.heading_x, me.heading_y = side * unit_x, side * unit_y


@compiled
def steer(
    me: Any, to_x: float, to_y: float, along: float, push: float, step_s: float, settings: Any
) -> None:
    """Turn toward (to_x, to_y) and gather or shed speed, within one grip. Right is positive."""
    # Their own heading is left alone until everybody has decided: others still look at it.
    me.face_x, me.face_y = me.heading_x, me.heading_y
    if me.speed < LEAST_TURNING_SPEED_M_S:
        me.face_x, me.face_y = to_x, to_y
    to_right = math.atan2(me.face_y * to_x - me.face_x * to_y, me.face_x * to_x + me.face_y * to_y)
    # The heading closes in on the wanted one exponentially, solved exactly over a step.
    rate = (1.0 - math.exp(-step_s / settings.steer_time_s)) / step_s
    limit = settings.sideways_limit_m_s2
    aside = min(limit, max(-limit, me.speed * to_right * rate + push))
    share = shared_grip(
        along, aside, settings.acceleration_limit_m_s2, settings.braking_limit_m_s2, limit
    )
    me.along, me.aside = share * along, share * aside


@compiled
def note_crossings(i: int, me: Any, t_s: float, step_s: float, ground: Any, tape: Any) -> None:
    """Write down when runner `i` crossed checkpoints within this step, and with what reserve (that of the
    step's end); take it off at the end."""
    for k in range(me.from_cell + 1, me.cell + 1):
        mark = ground[k].checkpoint
        if mark < 0 or not math.isnan(tape.crossing_s[i, mark]):
            continue
        was = beyond_m(ground, k, me.from_x, me.from_y)
        now = beyond_m(ground, k, me.x, me.y)
        part = 1.0 if now - was <= 1e-12 else min(1.0, max(0.0, -was / (now - was)))
        tape.crossing_s[i, mark] = t_s + part * step_s
        tape.reserve_m[i, mark] = me.reserve_m
    if me.cell == len(ground) - 2:
        me.gone = 1


@compiled
def write_frame(frame: int, bodies: Any, tape: Any) -> None:
    """Write positions and speeds of this moment to the tape; those who are gone are marked."""
    if frame >= len(tape.position):
        return
    for i in range(tape.position.shape[1]):
        me = bodies[i]
        gone = me.gone == 1
        tape.position[frame, i, 0] = math.nan if gone else me.x
        tape.position[frame, i, 1] = math.nan if gone else me.y
        tape.speed_cm_s[frame, i] = GONE if gone else int(round(100.0 * me.speed))
        tape.wished_cm_s[frame, i] = GONE if gone else int(round(100.0 * me.wished_m_s))
