"""Racing, as far as the kernel goes: places on the way, the raced wish, what is noted of it, and tiring."""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.locate import across_m
from simrun.laws.reserve import empty_after_s, tired_critical_m_s
from simrun.state.arrays import RACED_BIN_M, RACES, RANK_BIN_M, REPLAYS
from simrun.tactics.front import drawn_out_m_s, front_here_m_s
from simrun.tactics.kick import reach_m
from simrun.tactics.pace import stage_speed_m_s
from simrun.tactics.raced import raced_over_planned


@compiled
def station_m_of(me: Any, ground: Any) -> float:
    """Metres along the measured line."""
    through, _, _, _, _ = across_m(ground, me.cell, me.x, me.y)
    return (1.0 - through) * ground[me.cell].station_m + through * ground[me.cell + 1].station_m


@compiled
def planned_m_s(
    me: Any, station: float, share: float, wander: float, front: Any, settings: Any
) -> float:
    """The level speed of the plan here, drawn out by the front."""
    own = stage_speed_m_s(station, share, me, settings)
    if me.drawn == 0.0:
        return own * wander
    ahead = front_here_m_s(front, station)
    whole, end = settings.drawn_whole_to_m, settings.drawn_ends_at_m
    return drawn_out_m_s(own, ahead, station, me.drawn, whole, end) * wander


@compiled
def take_places(bodies: Any, ground: Any, ranks: Any, settings: Any) -> None:
    """Tell everybody who races the place now, and how many are within a kick's reach of it.

    Whole numbers are counted, a bin of the course each: no order of the runners leaves a trace. Who is
    past the end counts as in front and is in nobody's reach. ranks (R,): how many are so far or further.
    """
    ranks[:] = 0
    last = len(ranks) - 1
    for i in range(len(bodies)):
        if bodies[i].fixed == 0:
            ranks[last if bodies[i].gone == 1 else bin_of(bodies[i], ground, last)] += 1
    for b in range(last - 1, -1, -1):
        ranks[b] += ranks[b + 1]
    for i in range(len(bodies)):
        me = bodies[i]
        if me.gone == 1 or me.races != RACES:
            continue
        behind, ahead, far = bins_in_reach(me, ground, last, settings)
        me.place = ranks[ahead] + 1
        me.in_reach = ranks[behind] - ranks[far] - 1


@compiled
def bins_in_reach(me: Any, ground: Any, last: int, settings: Any) -> tuple[int, int, int]:
    """From which bin on is anybody within this runner's reach, in front, and no longer in reach?"""
    here = bin_of(me, ground, last)
    left = max(0.0, me.finish_m - station_m_of(me, ground))
    far = reach_m(left, settings.kick_reach_share, settings.kick_reach_m)
    bins = int(math.ceil(far / RANK_BIN_M))
    close = int(math.ceil(settings.kick_reach_m / RANK_BIN_M))
    return max(0, here - close), min(last, here + 1), min(last, here + 1 + bins)


@compiled
def bin_of(me: Any, ground: Any, last: int) -> int:
    """In which bin of the course is this runner? The last is for those past the end."""
    return max(0, min(last - 1, int(station_m_of(me, ground) / RANK_BIN_M)))


@compiled
def weigh_race(
    i: int, me: Any, wander: Any, ways: Any, ground: Any, settings: Any, tape: Any
) -> None:
    """Set the ratio of raced to planned wish until the next look, and note it; or replay what was noted."""
    station = station_m_of(me, ground)
    bin_at = max(0, int(station / RACED_BIN_M))
    if me.races == REPLAYS:
        me.race_share = ways.raced[i, min(bin_at, ways.raced.shape[1] - 1)]
        return
    share = ground[me.cell].pace_share
    part = max(0, min(int(station / settings.wander_step_m), len(wander) - 1))
    planned = planned_m_s(me, station, share, wander[part], ways.front_m_s, settings)
    me.race_share = raced_over_planned(station, share, planned, me, settings)
    if bin_at < tape.raced_sum.shape[1]:
        tape.raced_sum[i, bin_at] += me.race_share
        tape.raced_times[i, bin_at] += 1.0


@compiled
def tire(me: Any, step_s: float, settings: Any) -> None:
    """Let the critical speed of somebody who is empty fade."""
    me.empty_s = empty_after_s(me.empty_s, me.reserve_m, settings.empty_below_m, step_s)
    me.critical_m_s = tired_critical_m_s(
        me.fresh_m_s, me.empty_s, settings.fade_share, settings.fade_over_s
    )
