"""What does a behaviour of one's own want, told what a runner knows and sees?

Every number taken from the neighbours is a largest, a smallest or a count: the order in which they are met
leaves no trace.
"""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.locate import across_m
from simrun.tactics.own.senses import MOST_M_S, NOBODY_M, SIDE, WISH

BESIDE_M = 1.0
"""Bodies no further ahead or behind than this count as beside."""


@compiled
def own_wish_m_s(
    i: int, me: Any, count: int, t_s: float, ground: Any, near: Any, own: Any
) -> float:
    """The speed wanted by the behaviour; as it was, for whom it does not count or where it answers none."""
    if own.who[i] == 0:
        return me.wished_m_s
    wanted = asked(WISH, me, 0.0, count, t_s, ground, near, own)
    if not 0.0 <= wanted <= MOST_M_S:
        note_wrong(i, t_s, wanted, WISH, own)
        return me.wished_m_s
    return wanted


@compiled
def own_offset_m(
    i: int,
    me: Any,
    offset_m: float,
    widest_m: float,
    count: int,
    t_s: float,
    ground: Any,
    near: Any,
    own: Any,
) -> float:
    """The track wanted by the behaviour, no further aside than can be seen; else as it would be."""
    if own.who[i] == 0:
        return offset_m
    wanted = asked(SIDE, me, offset_m, count, t_s, ground, near, own)
    if not math.isfinite(wanted):
        note_wrong(i, t_s, wanted, SIDE, own)
        return offset_m
    return max(-widest_m, min(wanted, widest_m))


@compiled
def asked(
    which: int, me: Any, offset_m: float, count: int, t_s: float, ground: Any, near: Any, own: Any
) -> float:
    """Put the question, with everything in the order of SENSES."""
    through, aside, half, _, _ = across_m(ground, me.cell, me.x, me.y)
    station = (1.0 - through) * ground[me.cell].station_m
    station += through * ground[me.cell + 1].station_m
    left, right = half + aside - me.radius_m, half - aside - me.radius_m
    ahead, ahead_m_s, seen_ahead = NOBODY_M, 0.0, 0
    for n in range(count):
        seen = near[n]
        seen_ahead += 1 if seen.ahead > 0.0 else 0
        gap = seen.ahead - seen.bodies_m
        if seen.ahead > 0.0 and abs(seen.aside) < seen.bodies_m and gap <= ahead:
            ahead_m_s = seen.speed_ahead if gap < ahead else min(ahead_m_s, seen.speed_ahead)
            ahead = gap
        if abs(seen.ahead) <= BESIDE_M:
            free = abs(seen.aside) - seen.bodies_m
            if seen.aside < 0.0:
                left = min(left, free)
            if seen.aside > 0.0:
                right = min(right, free)
    hook = own.wish if which == WISH else own.side
    return hook(
        me.wished_m_s,
        me.speed,
        station,
        max(0.0, me.finish_m - station),
        t_s,
        me.reserve_m,
        2.0 * half,
        max(0.0, ahead),
        ahead_m_s,
        float(seen_ahead),
        max(0.0, left),
        max(0.0, right),
        offset_m,
    )


@compiled
def note_wrong(i: int, t_s: float, answered: float, which: int, own: Any) -> None:
    """Keep the first answer that was none; the race is stopped with it once these steps are done."""
    if own.wrong[0] < 0.0:
        own.wrong[0], own.wrong[1], own.wrong[2], own.wrong[3] = i, t_s, answered, which
