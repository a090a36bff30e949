"""What does one runner see, and what does it do about it? Gap, following, anticipation.

Every number taken from the neighbours is a largest or a smallest, never a sum: the order in which
they are met leaves no trace.
"""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.locate import across_m, cell_near
from simrun.engine.kernel.neighbours import run_of, square_of
from simrun.laws.anticipate import NEVER_S, anticipation_m_s2, collision_time_s
from simrun.laws.follow import (
    following_acceleration_m_s2,
    free_gap_m,
    in_the_way,
    kept_time_s,
    sway_margin_m,
    wished_gap_m,
)
from simrun.laws.set_off import set_off_wait_s
from simrun.laws.wake import saved_share, shelter
from simrun.tactics.gap import best_track, promised_speed_m_s, worth_m_s

LOOK_M = 6.0
LOOK_ASIDE_M = 2.6
BEHIND_M = 0.3
EDGE_ROOM_M = 0.3
SIDEWAYS = 0.5
"""Who faces this much to one side goes on to that side along what is in the way."""
AROUND_REACH = 2.0
"""So many widths off a body that stays is stepped around by who stands."""
MOST_TURN = math.radians(100.0)
"""A little more than square to the way: along a wall, not back."""
HAIR_M = 1e-6
STANDS_M_S = 0.1
"""A runner slower than this stands."""
NOBODY_M = 1e9
OTHER_GROUND_M = 40.0
"""Bodies further away than this along the course are looked at twice: they may be behind a fence."""


@compiled
def gather(
    i: int, me: Any, to_x: float, to_y: float, behind: float, ground: Any, scratch: Any
) -> int:
    """Write down who is ahead of and beside runner `i`, and up to `behind` metres back, seen along
    (to_x, to_y); returns how many."""
    seen, near, hits = scratch.seen, scratch.near, scratch.hits
    found, count, station_m = 0, 0, ground[me.cell].station_m
    west, east = reach_m(to_x, to_y, behind)
    north, south = reach_m(to_y, to_x, behind)
    first_column, last_column = square_of(me.x + west), square_of(me.x + east)
    for row in range(square_of(me.y + north), square_of(me.y + south) + 1):
        first, last = run_of(row, first_column, last_column, scratch.begins)
        found = hits_in_run(i, me.x, me.y, to_x, to_y, behind, row, first, last, seen, found, hits)
    for hit in range(found):
        you = seen[hits[hit]]
        # An array that is handed on is counted, so far-off ground is told apart here, where it is rare.
        far_off = you.fixed == 0 and abs(you.station_m - station_m) >= OTHER_GROUND_M
        if count >= len(near) or (far_off and behind_fence(me, you, ground)):
            continue
        note_neighbour(near[count], me, you, to_x, to_y, ground)
        count += 1
    return count


@compiled
def note_neighbour(one: Any, me: Any, you: Any, to_x: float, to_y: float, ground: Any) -> None:
    """Write down one neighbour as seen along (to_x, to_y)."""
    dx, dy = you.x - me.x, you.y - me.y
    one.ahead, one.aside = dx * to_x + dy * to_y, dx * to_y - dy * to_x
    one.speed_ahead = you.vx * to_x + you.vy * to_y
    one.speed_aside = you.vx * to_y - you.vy * to_x
    one.bodies_m = me.radius_m + you.radius_m
    one.stays = you.stays
    one.further = further_m(me.cell, you.cell, dx, dy, ground)
    if you.fixed == 1:
        one.further = NOBODY_M


@compiled
def further_m(cell: int, other: int, dx: float, dy: float, ground: Any) -> float:
    """How much further along the course is somebody in the cell `other`, (dx, dy) away?

    Along the sum of both directions: each finds the other as far ahead as the other finds it behind, to the
    last bit. By their own direction alone two on nearly one ray of a tight turn each find the other further
    on, and both wait for ever. Check: tests/unit/engine/test_look.py, tests/validation/test_no_lock.py.
    """
    mine, theirs = ground[cell + 1], ground[other + 1]
    return dy * (mine.unit_x + theirs.unit_x) - dx * (mine.unit_y + theirs.unit_y)


@compiled
def wake_share(speed: float, headwind_m_s: float, count: int, near: Any, settings: Any) -> float:
    """The share of the effort that the best wake among the neighbours saves."""
    most = 0.0
    for n in range(count):
        seen = near[n]
        if seen.speed_ahead <= 0.0:
            continue
        felt = shelter(
            seen.ahead - seen.bodies_m,
            seen.aside,
            seen.bodies_m,
            settings.wake_whole_to_m,
            settings.wake_ends_at_m,
        )
        # Air that somebody slower has set in motion is no faster than that body.
        air = max(0.0, min(speed, seen.speed_ahead) + headwind_m_s)
        saved = saved_share(
            air, settings.air_share, settings.air_speed_m_s, settings.wake_shielded_share
        )
        most = max(most, felt * saved)
    return most


@compiled
def hits_in_run(
    i: int,
    x: float,
    y: float,
    to_x: float,
    to_y: float,
    behind: float,
    row: int,
    first: int,
    last: int,
    seen: Any,
    found: int,
    hits: Any,
) -> int:
    """Add those of a row who are ahead of and beside (x, y); returns how many there are now.

    Every place is written and only those who count are kept: a branch that cannot be foreseen costs more.
    """
    for at in range(first, last):
        you = seen[at]
        dx, dy = you.x - x, you.y - y
        ahead, aside = dx * to_x + dy * to_y, dx * to_y - dy * to_x
        hits[found] = at
        found += int(
            (dx * dx + dy * dy <= LOOK_M * LOOK_M)
            & (ahead >= -behind)
            & (abs(aside) <= LOOK_ASIDE_M)
            & (you.row == row)
            & (you.index != i)
        )
    return found


@compiled
def reach_m(along: float, across: float, behind: float) -> tuple[float, float]:
    """From where to where in x is there anybody to look at? `along`, `across`: x and y of the way.

    The span of the oblong that is looked over, and a hair more against rounding; of y with both swapped.
    """
    aside = LOOK_ASIDE_M * abs(across) + HAIR_M
    low = min(-behind * along, LOOK_M * along) - aside
    high = max(-behind * along, LOOK_M * along) + aside
    return max(low, -LOOK_M - HAIR_M), min(high, LOOK_M + HAIR_M)


@compiled
def behind_fence(me: Any, you: Any, ground: Any) -> bool:
    """Is this body, far off along the course, on another stretch of it that only passes close by?

    It is a neighbour only inside their own edges: so runners of another lap are met, and those on the
    other side of a fence are not.
    """
    cell = cell_near(ground, me.cell, you.x, you.y)
    _, aside, half, _, _ = across_m(ground, cell, you.x, you.y)
    return abs(aside) > half + EDGE_ROOM_M


@compiled
def chosen_offset_m(
    me: Any, to_x: float, to_y: float, count: int, ground: Any, near: Any, worth: Any, settings: Any
) -> float:
    """How far to the side is the track this runner steers for? Right is positive."""
    if count == 0:
        return 0.0
    side = settings.tracks_a_side
    left_m, right_m = rooms_m(me, to_x, to_y, ground)
    worth[:] = me.wished_m_s
    for n in range(count):
        lower_to_tracks(near[n], me.speed, me.wished_m_s, worth, settings)
    for step in range(-side, side + 1):
        offset = step * settings.track_width_m
        if step != 0 and (offset < -left_m or offset > right_m):
            worth[step + side] = -1e9
            continue
        worth[step + side] = worth_m_s(
            worth[step + side],
            offset,
            me.kept_m,
            settings.track_width_m,
            settings.gap_price_per_s,
            settings.gap_keep_bonus_m_s,
        )
    return best_track(worth, side) * settings.track_width_m


@compiled
def lower_to_tracks(seen: Any, speed: float, wished: float, worth: Any, settings: Any) -> None:
    """Lower the promise of every track that this neighbour stands or runs in."""
    if seen.ahead < -BEHIND_M:
        return
    side = settings.tracks_a_side
    wide = seen.bodies_m + settings.sway_m
    promise = promised_speed_m_s(
        seen.speed_ahead,
        seen.ahead - seen.bodies_m,
        settings.standstill_gap_m + time_kept_s(speed, seen.speed_ahead, wished, settings) * speed,
        settings.gap_look_s,
    )
    for step in range(-side, side + 1):
        known = worth[step + side]
        stands = abs(seen.aside - step * settings.track_width_m) < wide
        worth[step + side] = min(known, promise if stands else known)


@compiled
def time_kept_s(speed: float, other: float, wished: float, settings: Any) -> float:
    """The time gap to somebody at `other` m/s, with the settings of the race."""
    return kept_time_s(
        speed,
        other,
        wished,
        settings.following_time_s,
        settings.pack_gap_m,
        settings.held_up_share,
        settings.own_pace_share,
    )


@compiled
def rooms_m(me: Any, to_x: float, to_y: float, ground: Any) -> tuple[float, float]:
    """How much room is there to the left and to the right, here and a second of running ahead?"""
    _, aside, half, _, _ = across_m(ground, me.cell, me.x, me.y)
    left, right = half + aside, half - aside
    ahead = max(1.0, me.speed)
    x, y = me.x + ahead * to_x, me.y + ahead * to_y
    cell = cell_near(ground, me.cell, x, y)
    _, aside, half, _, _ = across_m(ground, cell, x, y)
    return min(left, half + aside) - EDGE_ROOM_M, min(right, half - aside) - EDGE_ROOM_M


@compiled
def step_around(
    cosine: float,
    sine: float,
    offset: float,
    to_right: float,
    count: int,
    near: Any,
    settings: Any,
) -> tuple[float, float]:
    """Which way past bodies that stay where they are, close by and in the way?

    Along the tangent to them on the side of the chosen track; where no track is better, on the side that is
    faced already (`to_right`: how much to the right), else on the side that turns less; and never back. The
    given way where nothing that stays is in it. A queue is not stepped around: who only waits moves on.
    Check: tests/unit/engine/test_look.py, tests/validation/test_adversarial_crowds.py.
    """
    right, left, held_up = -math.pi, math.pi, False
    for n in range(count):
        seen = near[n]
        if seen.stays == 0.0 or seen.ahead <= 0.0:
            continue
        wide, apart = seen.bodies_m + settings.sway_m, math.hypot(seen.ahead, seen.aside)
        if apart < AROUND_REACH * wide:
            held_up |= abs(seen.aside) < wide
            middle = math.atan2(seen.aside, seen.ahead)
            clear = math.asin(min(1.0, wide / apart))
            right, left = max(right, middle + clear), min(left, middle - clear)
    side = offset
    if offset == 0.0:
        side = to_right if abs(to_right) > SIDEWAYS else -right - left
    if not held_up or side == 0.0:
        return cosine, sine
    angle = right if (side > 0.0 and right < MOST_TURN) or left < -MOST_TURN else left
    return math.cos(angle), math.sin(angle)


@compiled
def follow(
    speed: float,
    wished: float,
    free: float,
    turn_cosine: float,
    turn_sine: float,
    count: int,
    near: Any,
    settings: Any,
) -> tuple[float, float]:
    """Acceleration along the chosen direction, and push aside: what the neighbours leave.

    `near` is seen along the way to the aim; the chosen direction is turned from it to the right by an
    angle of this cosine and sine.
    """
    pull = min(wished / settings.start_constant_s, settings.acceleration_limit_m_s2)
    pull = max(pull, 0.1)
    braking = math.sqrt(pull * settings.comfortable_braking_m_s2)
    sway = sway_margin_m(speed, settings.sway_m, settings.sway_per_speed_s)
    along, push_left, push_right = free, 0.0, 0.0
    for n in range(count):
        seen = near[n]
        if seen.ahead < -BEHIND_M:
            continue
        ahead = seen.ahead * turn_cosine + seen.aside * turn_sine
        aside = seen.aside * turn_cosine - seen.ahead * turn_sine
        other = seen.speed_ahead * turn_cosine + seen.speed_aside * turn_sine
        other_aside = seen.speed_aside * turn_cosine - seen.speed_ahead * turn_sine
        if ahead > 0.0 and abs(aside) < seen.bodies_m + sway:
            weight = in_the_way(aside, seen.bodies_m, sway, settings.edge_share)
            # Where two ways meet, who is further along goes first and minds the other only so as not to
            # run into it: two who wait for each other would wait for ever.
            first = seen.further <= 0.0
            free_gap = free_gap_m(ahead, aside, seen.bodies_m, weight)
            wish = wished_gap_m(
                speed,
                speed - other,
                0.0 if first else settings.standstill_gap_m,
                0.0 if first else weight * time_kept_s(speed, other, wished, settings),
                braking,
            )
            behind = following_acceleration_m_s2(free_gap, wish, pull)
            behind = max(behind, -settings.braking_limit_m_s2)
            along = min(along, (1.0 - weight) * free + weight * behind)
        time = collision_time_s(ahead, aside, other - speed, other_aside, seen.bodies_m)
        if time < NEVER_S and time < settings.anticipate_horizon_s:
            touch = (aside + other_aside * time) / seen.bodies_m
            push = touch * anticipation_m_s2(
                time, settings.anticipate_strength, settings.anticipate_horizon_s
            )
            push_left, push_right = max(push_left, push), max(push_right, -push)
    cap = settings.anticipate_cap_m_s2
    return along, min(cap, push_right) - min(cap, push_left)


@compiled
def waited_for_s(cosine: float, sine: float, count: int, near: Any, settings: Any) -> float:
    """How long after the one ahead sets off who has not yet made a first stride? 0 where nobody waits ahead.

    Ahead is who is wholly or mostly in the way, nearest and further on; who stays for good is not waited for.
    """
    stands_m, goes_m = NOBODY_M, NOBODY_M
    for n in range(count):
        seen = near[n]
        ahead = seen.ahead * cosine + seen.aside * sine
        aside = seen.aside * cosine - seen.ahead * sine
        weight = in_the_way(aside, seen.bodies_m, settings.sway_m, settings.edge_share)
        if ahead <= 0.0 or weight < 0.5 or seen.further <= 0.0 or seen.stays != 0.0:
            continue
        if seen.speed_ahead**2 + seen.speed_aside**2 < STANDS_M_S**2:
            stands_m = min(stands_m, ahead)
        else:
            goes_m = min(goes_m, ahead)
    if stands_m > min(goes_m, settings.set_off_look_m):
        return 0.0
    return set_off_wait_s(stands_m, settings.restart_reaction_s, settings.set_off_wait_per_m_s)


@compiled
def free_track_m(
    speed: float, cosine: float, sine: float, count: int, near: Any, settings: Any
) -> float:
    """How much free track is there ahead, in the chosen direction? NOBODY_M where nobody is in the way.

    To the nearest who is wholly or mostly in the way and further along, as `follow` sees the gap.
    """
    sway = sway_margin_m(speed, settings.sway_m, settings.sway_per_speed_s)
    least = NOBODY_M
    for n in range(count):
        seen = near[n]
        ahead = seen.ahead * cosine + seen.aside * sine
        aside = seen.aside * cosine - seen.ahead * sine
        weight = in_the_way(aside, seen.bodies_m, sway, settings.edge_share)
        if ahead > 0.0 and weight >= 0.5 and seen.further > 0.0:
            least = min(least, free_gap_m(ahead, aside, seen.bodies_m, weight))
    return least
