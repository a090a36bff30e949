"""The phases of one step for one runner of a batch: look and go, meet, part, end.

Between two phases everybody waits for everybody of the same race. A phase reads what the others showed in
the phase before and writes what is its own, so that it does not matter who is first. The laws are the
kernel's own.

Check: tests/agreement/test_phases.py (equal to the kernel to the bit).
"""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.course.station import through
from simrun.engine.batch.look import close_ones, gather, show, within_reach
from simrun.engine.batch.places_now import note_bin, take_place
from simrun.engine.batch.touch import overlap_left
from simrun.engine.kernel.going import carry_on
from simrun.engine.kernel.places_now import weigh_race
from simrun.engine.kernel.step import (
    NOBODY_ELSE,
    PLACES_S,
    act,
    behind_m,
    face_on,
    look_ahead,
    looked_aside_m,
    note_crossings,
    want,
)
from simrun.engine.watch import MOVED_M
from simrun.laws.set_off import whole_steps
from simrun.state.arrays import RACES


@compiled
def is_on(me: Any) -> bool:
    """Is this a runner who is still on the course?"""
    return me.gone == 0 and me.fixed == 0


@compiled
def tells_places(step: int, step_s: float, bins: int) -> bool:
    """Does everybody who races get to know their own place in this step?"""
    return bins > 0 and step % max(1, whole_steps(PLACES_S, step_s)) == 0


@compiled
def begin(i: int, me: Any, step: int, step_s: float, bins: int, lot: Any) -> None:
    """Be seen as the step finds everybody."""
    show(lot.seen[i], i, me, lot.ground)
    if tells_places(step, step_s, bins):
        note_bin(i, me, lot.ground, bins - 1, lot.bins)


@compiled
def look_and_go(
    i: int,
    me: Any,
    step: int,
    step_s: float,
    bins: int,
    alone: bool,
    lot: Any,
    settings: Any,
    hits: Any,
    near: Any,
    worth: Any,
    close: Any,
) -> int:
    """Look at everybody as they were when the step began, decide, move; returns how many may be touched."""
    ground, ways = lot.ground, lot.ways
    wander = ways.wander[i]
    if tells_places(step, step_s, bins):
        take_place(me, ground, bins - 1, lot.bins, settings)
    interval = max(1, whole_steps(settings.look_interval_s, step_s))
    look_up = (step + int(me.look_phase * interval)) % interval == 0 or step == 0
    if look_up:
        row = i if len(ways.margin_left) > 1 else 0
        look_ahead(me, ways.margin_left[row], ways.margin_right[row], ways, ground, settings)
        if me.races >= RACES:
            weigh_race(i, me, wander, ways, ground, settings, lot.notes)
    to_x, to_y, side = want(me, wander, ways.front_m_s, ground, settings)
    count, touching = NOBODY_ELSE, 0
    if not alone:
        behind = behind_m(side, settings)
        found, there = within_reach(i, me, lot.seen, hits)
        touching = close_ones(me, lot.seen, hits, found, close)
        count = gather(me, to_x, to_y, behind, ground, lot.seen, hits, found, there, near)
    offset = looked_aside_m(
        me, step_s, look_up, to_x, to_y, side, count, near, worth, ground, settings
    )
    act(me, step_s, look_up, to_x, to_y, offset, count, near, settings)
    carry_on(me, step_s, ground, settings)
    return touching


@compiled
def end(i: int, me: Any, step: int, step_s: float, lot: Any, close: Any, touching: int) -> float:
    """Face on and write down what was crossed; returns the largest overlap that is left."""
    face_on(me, lot.ground)
    left = overlap_left(me, lot.after, close, touching)
    if me.cell > me.from_cell:
        note_crossings(i, me, step * step_s, step_s, lot.ground, lot.notes)
    return left


@compiled
def is_there(who: int, goal: int, batch: Any) -> bool:
    """Has this runner of a batch come to where its run ends: a mark of its own, else the last checkpoint?"""
    if math.isnan(batch.mark_m[who]):
        return not math.isnan(batch.crossing_s[who, goal])
    return batch.furthest_m[who] >= batch.mark_m[who]


@compiled
def note_mark(who: int, me: Any, since_s: float, until_s: float, ground: Any, batch: Any) -> None:
    """Note how far somebody has come, and when the mark was come to: what `engine.tracking.note` does of one
    runner and one place, between the same two moments."""
    now = station_in(me, ground)
    if not now > batch.furthest_m[who]:
        return
    furthest, mark = batch.furthest_m[who], batch.mark_m[who]
    if furthest < mark <= now:
        moment = since_s + (mark - furthest) / (now - furthest) * (until_s - since_s)
        batch.marked_s[who] = math.floor(1000.0 * moment + 0.5) / 1000.0
    batch.furthest_m[who] = now


@compiled
def station_in(me: Any, ground: Any) -> float:
    """How far along the measured line is a body? As `course.station.station_at_m`, from the ground alone."""
    share = through(ground, me.cell, me.x, me.y)
    return (1.0 - share) * ground[me.cell].station_m + share * ground[me.cell + 1].station_m


@compiled
def notes_marks(who: int, step: int, about: Any, batch: Any) -> bool:
    """Is it noted after this step how far somebody has come who runs to a mark of their own?"""
    return not math.isnan(batch.mark_m[who]) and (step + 1) % about.note_every == 0


@compiled
def note_over(r: int, batch: Any) -> None:
    """Note whether race `r` is over: everybody is where their run ends."""
    about = batch.lots[r]
    over = 1
    for who in range(about.runners_at, about.runners_at + about.runners):
        if not is_there(who, about.marks - 1, batch):
            over = 0
    batch.lots[r].over = over


@compiled
def watch_over(me: Any, watch: Any, t_s: float) -> None:
    """Is this runner getting on? What `engine.watch.Watch` notes of one, every few seconds."""
    if math.hypot(me.x - watch.anchor_x, me.y - watch.anchor_y) > MOVED_M or me.gone == 1:
        watch.anchor_x, watch.anchor_y = me.x, me.y
        watch.since_s = max(watch.free_s, t_s)
    if t_s - watch.since_s > watch.stood_s:
        watch.stood_s = t_s - watch.since_s
        watch.stood_x, watch.stood_y, watch.stood_cell = me.x, me.y, me.cell
