"""The rival (b): the same laws in whole-array NumPy over the pairs of neighbours.

A whole step, for runners on a straight between walls: what everybody decides, the move, the walls, the
parting of those who touch. Let off is what a straight has none of (bends, corners, far-off ground) and
whoever stays where it is. The pairs come from a tree; those ahead and near the way are kept before any law is
worked out, those who may touch are found among them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from simrun.engine.kernel.look import BEHIND_M, EDGE_ROOM_M, LOOK_ASIDE_M, LOOK_M
from simrun.engine.kernel.neighbours import CLOSE_M
from simrun.engine.kernel.step import LEAST_TURNING_SPEED_M_S, SET_OFF_M_S
from simrun.engine.kernel.touch import TOUCHING_M
from simrun.laws.contact import GRAIN

Array = NDArray[np.float64]
Columns = dict[str, Array]

LOOK_UP_STEPS = 4
MARGIN_M = 0.3
"""How far off the walls everybody's way leads in these crowds."""


def columns_of(bodies: Any) -> Columns:
    """The records as plain arrays side by side, (N,) each; made once, not timed."""
    return {name: np.ascontiguousarray(bodies[name]) for name in bodies.dtype.names}


def run(me: Columns, day: Any) -> Columns:
    """So many steps from this moment on."""
    for step in range(day.at, day.at + day.steps):
        me = step_all(me, day, step % LOOK_UP_STEPS == 0)
    return me


def step_all(me: Columns, day: Any, look_up: bool) -> Columns:
    """One step of everybody: the columns after it."""
    s = day.settings
    wished = wished_speed(me, day)
    aim_x, aim_y = aims(me, day.ground) if look_up else (me["aim_x"], me["aim_y"])
    to_x, to_y = toward(me, aim_x, aim_y)
    pairs = cKDTree(np.stack([me["x"], me["y"]], axis=1)).query_pairs(LOOK_M, output_type="ndarray")
    close = may_touch(me, pairs)
    near = gather(me, to_x, to_y, pairs)
    free = free_along(me["speed"], wished, day)
    offset = me["kept_m"]
    if look_up:
        offset = chosen_offset(me, wished, to_x, to_y, near, day)
    kept = offset - me["speed"] * (me["heading_x"] * to_y - me["heading_y"] * to_x) * day.step_s
    far = np.maximum(2.0, s.aim_ahead_s * me["speed"])
    long = np.sqrt(far * far + offset * offset)
    cosine, sine = far / long, offset / long
    along, push, gap = follow(me, wished, free, cosine, sine, near, s)
    to_x, to_y = cosine * to_x + sine * to_y, cosine * to_y - sine * to_x
    wait = waits(me, gap, day)
    new = steer(me, to_x, to_y, along, push, wait, day)
    saved = saved_shares(me["speed"], near, s)
    after = {**me, "wished_m_s": wished, "aim_x": aim_x, "aim_y": aim_y, "kept_m": kept}
    after |= {"wait_s": wait, "saved_share": saved, **new}
    after["reserve_m"] = spent(after, day)
    after |= move(after, day.step_s)
    after["off"] = np.where(after["speed"] >= SET_OFF_M_S, 1, me["off"])
    hold_inside(after, day)
    lose_approach(after, close, s.contact_friction)
    part_bodies(after, close, day)
    after["most_overlap"] = largest_overlap(after, close)
    return after


def aims(me: Columns, ground: Any) -> tuple[Array, Array]:
    """Straight on to the end, or, for who is too near to a wall, to the next cut at its margin."""
    cell, _, _, _ = across(me, me["x"], me["y"], ground)
    most = 0.5 * ground["width_m"][-1] - MARGIN_M
    outside = np.abs(me["y"]) > most
    middle = ground["middle_x"]
    return np.where(outside, middle[cell + 1], middle[-1]), np.clip(me["y"], -most, most)


def across(me: Columns, x: Array, y: Array, ground: Any) -> tuple[Array, Array, Array, Array]:
    """Cell, share of the way through it, metres right of the middle, half of the width; a straight on x."""
    middle = ground["middle_x"]
    cell = np.clip(np.searchsorted(middle, x, side="right") - 1, 0, len(middle) - 2)
    behind, ahead = x - middle[cell], middle[cell + 1] - x
    through = np.clip(behind / (behind + ahead), 0.0, 1.0)
    half = 0.5 * ((1.0 - through) * ground["width_m"][cell] + through * ground["width_m"][cell + 1])
    return cell, through, -(y - ground["middle_y"][cell]), half


def wished_speed(me: Columns, day: Any) -> Array:
    """Plan, wander, ground; there is no bend."""
    cell, through, _, _ = across(me, me["x"], me["y"], day.ground)
    station = day.ground["station_m"]
    at = (1.0 - through) * station[cell] + through * station[cell + 1]
    over = np.clip(1.0 - (at - me["opening_m"]) / me["settle_m"], 0.0, 1.0)
    part = np.clip((at / day.settings.wander_step_m).astype(int), 0, day.wander.shape[1] - 1)
    planned = (
        me["cruise_m_s"] * (1.0 + me["opening"] * over) * day.wander[np.arange(len(part)), part]
    )
    most = me["critical_m_s"] + me["reserve_m"] / day.settings.ease_s
    level = np.minimum(planned, most / (1.0 - me["saved_share"]))
    return level * day.ground["pace_share"][cell]


def toward(me: Columns, aim_x: Array, aim_y: Array) -> tuple[Array, Array]:
    """The unit vector to the aim."""
    x, y = aim_x - me["x"], aim_y - me["y"]
    long = np.hypot(x, y)
    return x / long, y / long


def may_touch(me: Columns, pairs: Any) -> Any:
    """Of the pairs (P, 2) those who may touch within the step, (Q, 2)."""
    dx = me["x"][pairs[:, 1]] - me["x"][pairs[:, 0]]
    dy = me["y"][pairs[:, 1]] - me["y"][pairs[:, 0]]
    return pairs[dx * dx + dy * dy < CLOSE_M * CLOSE_M]


def gather(me: Columns, to_x: Array, to_y: Array, pairs: Any) -> Columns:
    """All pairs of who looks (i) and who is ahead and near the way of that one, as seen by it: (P,)."""
    i = np.concatenate([pairs[:, 0], pairs[:, 1]])
    j = np.concatenate([pairs[:, 1], pairs[:, 0]])
    dx, dy = me["x"][j] - me["x"][i], me["y"][j] - me["y"][i]
    on_x, on_y = to_x[i], to_y[i]
    ahead, aside = dx * on_x + dy * on_y, dx * on_y - dy * on_x
    kept = np.flatnonzero((ahead >= -BEHIND_M) & (np.abs(aside) <= LOOK_ASIDE_M))
    i, j, on_x, on_y = i[kept], j[kept], on_x[kept], on_y[kept]
    vx, vy = me["speed"] * me["heading_x"], me["speed"] * me["heading_y"]
    return {
        "i": i,
        "ahead": ahead[kept],
        "aside": aside[kept],
        "speed_ahead": vx[j] * on_x + vy[j] * on_y,
        "speed_aside": vx[j] * on_y - vy[j] * on_x,
        "bodies_m": me["radius_m"][i] + me["radius_m"][j],
        "further": dx[kept],
    }


def free_along(speed: Array, wished: Array, day: Any) -> Array:
    """The acceleration toward the wished speed with nobody near."""
    s = day.settings
    constant = np.where(wished > speed, s.start_constant_s, s.steer_time_s)
    free = (wished - speed) * (1.0 - np.exp(-day.step_s / constant)) / day.step_s
    return np.maximum(np.minimum(free, s.acceleration_limit_m_s2), -s.braking_limit_m_s2)


def chosen_offset(
    me: Columns, wished: Array, to_x: Array, to_y: Array, near: Columns, day: Any
) -> Array:
    """How far to the side is the track each steers for?"""
    s, i, side = day.settings, near["i"], day.settings.tracks_a_side
    left, right = rooms(me, to_x, to_y, day.ground)
    wide = near["bodies_m"] + s.sway_m
    kept_gap = s.standstill_gap_m + s.following_time_s * me["speed"][i]
    promise = near["speed_ahead"] + (near["ahead"] - near["bodies_m"] - kept_gap) / s.gap_look_s
    promise = np.maximum(0.0, promise)
    worth = np.repeat(wished[None, :], 2 * side + 1, axis=0)
    for step in range(-side, side + 1):
        offset = step * s.track_width_m
        stands = np.abs(near["aside"] - offset) < wide
        np.minimum.at(worth[step + side], i[stands], promise[stands])
        bonus = np.maximum(0.0, 1.0 - np.abs(offset - me["kept_m"]) / s.track_width_m)
        worth[step + side] += bonus * s.gap_keep_bonus_m_s - s.gap_price_per_s * abs(offset)
        if step != 0:
            worth[step + side][(offset < -left) | (offset > right)] = -1e9
    chosen = best_track(worth, side) * s.track_width_m
    return np.where(np.bincount(i, minlength=len(chosen)) > 0, chosen, 0.0)


def rooms(me: Columns, to_x: Array, to_y: Array, ground: Any) -> tuple[Array, Array]:
    """The room to the left and to the right, here and a second of running ahead."""
    _, _, aside, half = across(me, me["x"], me["y"], ground)
    on = np.maximum(1.0, me["speed"])
    _, _, then, wide = across(me, me["x"] + on * to_x, me["y"] + on * to_y, ground)
    left, right = np.minimum(half + aside, wide + then), np.minimum(half - aside, wide - then)
    return left - EDGE_ROOM_M, right - EDGE_ROOM_M


def best_track(worth: Array, side: int) -> Array:
    """Which track is worth most to each? Ties go to neither side."""
    best, best_worth = np.zeros(worth.shape[1]), worth[side].copy()
    for step in range(1, side + 1):
        left, right = worth[side - step], worth[side + step]
        to_left, to_right = (
            (left > best_worth) & (left > right),
            (right > best_worth) & (right > left),
        )
        best[to_left], best[to_right] = -step, step
        best_worth = np.where(to_left, left, np.where(to_right, right, best_worth))
    return best


def follow(
    me: Columns, wished: Array, free: Array, cosine: Array, sine: Array, near: Columns, s: Any
) -> tuple[Array, Array, Array]:
    """Acceleration along the chosen direction, push aside and free gap that the neighbours leave."""
    i, bodies = near["i"], near["bodies_m"]
    pull = np.maximum(np.minimum(wished / s.start_constant_s, s.acceleration_limit_m_s2), 0.1)
    braking = np.sqrt(pull * s.comfortable_braking_m_s2)
    c, n, speed = cosine[i], sine[i], me["speed"][i]
    ahead, aside = near["ahead"] * c + near["aside"] * n, near["aside"] * c - near["ahead"] * n
    other = near["speed_ahead"] * c + near["speed_aside"] * n
    other_aside = near["speed_aside"] * c - near["speed_ahead"] * n
    off = np.abs(aside)
    clear = bodies + s.sway_m + s.sway_per_speed_s * speed
    weight = np.clip((clear - off) / (clear - 0.5 * bodies), 0.0, 1.0)
    first = near["further"] <= 0.0
    beside = np.minimum(off, 0.9 * bodies)
    free_gap = ahead - np.sqrt(bodies * bodies - beside * beside)
    keep = np.where(first, 0.0, s.following_time_s) * speed
    wish = np.maximum(0.0, keep + speed * (speed - other) / (2.0 * braking[i]))
    wish += np.where(first, 0.0, s.standstill_gap_m)
    ratio = wish / np.maximum(free_gap, 0.01)
    behind = np.maximum(pull[i] * (1.0 - ratio * ratio), -s.braking_limit_m_s2)
    minded = (ahead > 0.0) & (weight > 0.0)
    along, gap = free.copy(), np.full(len(free), 1e9)
    slowed = (1.0 - weight) * free[i] + weight * behind
    np.minimum.at(along, i[minded], slowed[minded])
    stops = minded & (weight >= 0.5) & ~first
    np.minimum.at(gap, i[stops], free_gap[stops])
    return along, pushes(i, ahead, aside, other - speed, other_aside, bodies, len(free), s), gap


def pushes(
    i: Any, x: Array, y: Array, vx: Array, vy: Array, bodies: Array, count: int, s: Any
) -> Array:
    """The push aside from the collisions each sees coming."""
    closing, speed2 = -(x * vx + y * vy), vx * vx + vy * vy
    apart2 = x * x + y * y - bodies * bodies
    root2 = closing * closing - speed2 * apart2
    hits = np.flatnonzero((closing > 0) & (speed2 >= 1e-6) & (apart2 > 0) & (root2 > 0))
    time = (closing[hits] - np.sqrt(root2[hits])) / speed2[hits]
    soon = time < s.anticipate_horizon_s
    hits, time = hits[soon], time[soon]
    t = np.maximum(time, 0.1)
    slope = s.anticipate_strength * np.exp(-t / s.anticipate_horizon_s) / (t * t)
    slope *= 2.0 / t + 1.0 / s.anticipate_horizon_s
    push = (y[hits] + vy[hits] * time) / bodies[hits] * slope
    left, right = np.zeros(count), np.zeros(count)
    np.maximum.at(left, i[hits], push)
    np.maximum.at(right, i[hits], -push)
    return np.minimum(s.anticipate_cap_m_s2, right) - np.minimum(s.anticipate_cap_m_s2, left)


def waits(me: Columns, gap: Array, day: Any) -> Array:
    """How much longer each waits to set off."""
    s, blocked = day.settings, gap < day.settings.first_stride_room_m
    left = np.maximum(0.0, me["wait_s"] - day.step_s)
    held = np.where(blocked & (left < s.restart_reaction_s), s.restart_reaction_s, left)
    anew = np.where((me["off"] == 0) & blocked, s.restart_reaction_s, 0.0)
    return np.where(me["wait_s"] > 0.0, held, anew)


def steer(
    me: Columns, to_x: Array, to_y: Array, along: Array, push: Array, wait: Array, day: Any
) -> Columns:
    """Turn toward (to_x, to_y) and gather or shed speed, within one grip; who waits stands."""
    s, speed, waiting = day.settings, me["speed"], wait > 0.0
    slow = (speed < LEAST_TURNING_SPEED_M_S) & ~waiting
    face_x, face_y = np.where(slow, to_x, me["heading_x"]), np.where(slow, to_y, me["heading_y"])
    turn = np.arctan2(face_y * to_x - face_x * to_y, face_x * to_x + face_y * to_y)
    rate = (1.0 - np.exp(-day.step_s / s.steer_time_s)) / day.step_s
    limit = s.sideways_limit_m_s2
    aside = np.clip(speed * turn * rate + push, -limit, limit)
    most = np.where(along >= 0.0, s.acceleration_limit_m_s2, s.braking_limit_m_s2)
    share = 1.0 / np.maximum(1.0, np.sqrt((along / most) ** 2 + (aside / limit) ** 2))
    along = np.where(waiting, -speed / day.step_s, share * along)
    aside = np.where(waiting, 0.0, share * aside)
    return {"along": along, "aside": aside, "face_x": face_x, "face_y": face_y}


def running_cost(slope: Array) -> Array:
    """The energy cost of running on a slope, as laws.slope has it."""
    i = np.clip(slope, -0.45, 0.45)
    return ((((155.4 * i - 30.4) * i - 43.3) * i + 46.3) * i + 19.5) * i + 3.6


def saved_shares(speed: Array, near: Columns, s: Any) -> Array:
    """The share of the effort that the best wake saves each."""
    i, gap = near["i"], near["ahead"] - near["bodies_m"]
    felt = np.clip((s.wake_ends_at_m - gap) / (s.wake_ends_at_m - s.wake_whole_to_m), 0.0, 1.0)
    felt *= np.maximum(0.0, 1.0 - np.abs(near["aside"]) / near["bodies_m"])
    felt[(gap < 0.0) | (near["speed_ahead"] <= 0.0)] = 0.0
    air = np.minimum(speed[i], near["speed_ahead"]) / s.air_speed_m_s
    most = np.zeros(len(speed))
    np.maximum.at(most, i, felt * s.wake_shielded_share * s.air_share * air * air)
    return most


def spent(me: Columns, day: Any) -> Array:
    """The reserve after the step; a straight has one kind of ground."""
    s, share = day.settings, day.ground["pace_share"][0]
    mean = np.maximum(0.0, me["speed"] + 0.5 * me["along"] * day.step_s)
    dearer = running_cost(me["along"] / s.gravity_m_s2) / running_cost(np.zeros(1))
    cost = mean / share * (1.0 + s.acceleration_cost_share * (dearer - 1.0))
    effort = cost * (1.0 - me["saved_share"])
    steady = mean / share * (1.0 - me["saved_share"])
    more = s.dearer_share * np.maximum(0.0, steady - me["cruise_m_s"])
    over = effort - me["critical_m_s"]
    missing = me["full_m"] - me["reserve_m"]
    back = np.exp(s.recovery_rate * np.minimum(0.0, over) * day.step_s / me["full_m"])
    falls = me["reserve_m"] - (over + more) * day.step_s
    return np.where(over >= 0.0, falls, me["full_m"] - missing * back)


def move(me: Columns, step_s: float) -> Columns:
    """Half of the turn, the way, the other half."""
    after = np.maximum(0.0, me["speed"] + me["along"] * step_s)
    mean = 0.5 * (me["speed"] + after)
    turn = 0.5 * me["aside"] * step_s / np.maximum(mean, LEAST_TURNING_SPEED_M_S)
    cosine, sine = np.cos(turn), np.sin(turn)
    x = cosine * me["face_x"] + sine * me["face_y"]
    y = cosine * me["face_y"] - sine * me["face_x"]
    place = {"moved_x": me["x"] + mean * step_s * x, "moved_y": me["y"] + mean * step_s * y}
    heading = {"heading_x": cosine * x + sine * y, "heading_y": cosine * y - sine * x}
    return {"speed": after, **place, **heading}


def hold_inside(me: Columns, day: Any) -> None:
    """Back between the walls, and the speed into them taken; changes `me`."""
    most = 0.5 * day.ground["width_m"][0] - me["radius_m"]
    y = np.clip(me["moved_y"], -most, most)
    out = np.flatnonzero(y != me["moved_y"])
    me["x"], me["y"] = me.pop("moved_x"), y
    off = -np.sign(y[out])
    into = np.maximum(0.0, -me["speed"][out] * me["heading_y"][out] * off)
    out, off, into = out[into > 0.0], off[into > 0.0], into[into > 0.0]
    vx = me["speed"][out] * me["heading_x"][out]
    vy = me["speed"][out] * me["heading_y"][out] + into * off
    kept = np.hypot(vx, vy)
    me["speed"][out] = np.maximum(0.0, kept - day.settings.contact_friction * into)
    me["heading_x"][out], me["heading_y"][out] = vx / kept, vy / kept
    del me["moved_y"]


def apart(me: Columns, close: Any) -> tuple[Array, Array, Array, Array]:
    """Of pairs (Q, 2): way in x and in y from one to the other, its square, both half widths: (Q,)."""
    i, j = close.T
    dx, dy = me["x"][j] - me["x"][i], me["y"][j] - me["y"][i]
    return dx, dy, dx * dx + dy * dy, me["radius_m"][i] + me["radius_m"][j]


def added(close: Any, x: Array, count: int) -> Array:
    """What each is given, in whole grains: minus x to the first of every pair, x to the second."""
    grains = np.rint(x * GRAIN)
    return np.bincount(close[:, 1], grains, count) - np.bincount(close[:, 0], grains, count)


def lose_approach(me: Columns, close: Any, friction: float) -> None:
    """Who touch lose the speed at which they close in, and some of their sliding; changes `me`."""
    dx, dy, apart2, wide = apart(me, close)
    meet = np.flatnonzero(apart2 < wide * wide)
    close, long = close[meet], np.maximum(np.sqrt(apart2[meet]), 1e-9)
    dx, dy = dx[meet] / long, dy[meet] / long
    vx, vy = me["speed"] * me["heading_x"], me["speed"] * me["heading_y"]
    i, j = close.T
    closing, slide = vx[i] - vx[j], vy[i] - vy[j]
    closing, slide = closing * dx + slide * dy, slide * dx - closing * dy
    along = 0.5 * np.maximum(0.0, closing)
    across = np.copysign(np.minimum(0.5 * np.abs(slide), friction * along), slide)
    x = added(close, along * dx - across * dy, len(vx)) / GRAIN
    y = added(close, along * dy + across * dx, len(vx)) / GRAIN
    hit = np.flatnonzero((x != 0.0) | (y != 0.0))
    vx, vy = vx[hit] + x[hit], vy[hit] + y[hit]
    speed = np.hypot(vx, vy)
    on = (vx * me["heading_x"][hit] + vy * me["heading_y"][hit] > 0.0) & (speed >= 1e-9)
    me["speed"][hit] = np.where(on, speed, 0.0)
    me["heading_x"][hit[on]], me["heading_y"][hit[on]] = vx[on] / speed[on], vy[on] / speed[on]


def part_bodies(me: Columns, close: Any, day: Any) -> None:
    """Push apart who overlap, everybody at once, and off the walls, so many times; changes `me`."""
    most = 0.5 * day.ground["width_m"][0] - me["radius_m"]
    for _ in range(day.settings.contact_sweeps):
        dx, dy, apart2, wide = apart(me, close)
        meet = np.flatnonzero((apart2 < (wide - TOUCHING_M) ** 2) & (apart2 >= 1e-18))
        if not len(meet):
            return
        long = np.sqrt(apart2[meet])
        push = 0.5 * (wide[meet] - long) / long
        me["x"] = me["x"] + added(close[meet], push * dx[meet], len(most)) / GRAIN
        y = me["y"] + added(close[meet], push * dy[meet], len(most)) / GRAIN
        me["y"] = np.clip(y, -most, most)


def largest_overlap(me: Columns, close: Any) -> float:
    """The largest overlap left, as a share of a body's width."""
    _, _, apart2, wide = apart(me, close)
    return float((1.0 - np.sqrt(apart2) / wide).max(initial=0.0))
