"""Whom does a runner go with? Covering a move, and tucking in behind."""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled

BESIDE_M = 1.5
"""Who passes further to the side than this is not gone with (assumed)."""


@compiled
def note_company(me: Any, count: int, near: Any, settings: Any) -> None:
    """Write down the fastest just ahead, and the speed of the nearest in the same track (0: nobody).

    A largest and a nearest, never a sum. Equals at the same distance: the faster one.
    Check: tests/unit/test_racing_laws.py.
    """
    me.cover_m_s, me.tuck_m_s, nearest = 0.0, 0.0, settings.tuck_within_m
    for n in range(count):
        seen = near[n]
        if seen.ahead <= 0.0:
            continue
        if seen.ahead <= settings.cover_within_m and abs(seen.aside) <= BESIDE_M:
            me.cover_m_s = max(me.cover_m_s, seen.speed_ahead)
        gap = seen.ahead - seen.bodies_m
        if abs(seen.aside) < seen.bodies_m and 0.0 <= gap <= nearest:
            same = gap == nearest
            me.tuck_m_s = max(me.tuck_m_s, seen.speed_ahead) if same else seen.speed_ahead
            nearest = gap


@compiled
def cover_more(fastest: float, planned: float, most_share: float) -> float:
    """By which share does a runner go with somebody who gets by at `fastest`? At most `most_share`.

    Both are level speeds. 0 where nobody is faster than the own plan.
    Source: assumption (`racing.cover_share` 0 to 0.04). Check: tests/unit/test_racing_laws.py.
    """
    return min(most_share, max(0.0, fastest / planned - 1.0))


@compiled
def tuck_less(leader: float, planned: float, most_share: float) -> float:
    """By which share does a runner give in to sit behind somebody hardly slower? 0 where that is too slow.

    planned - leader up to half of most_share is given in whole, then less and less, nothing at most_share:
    who is clearly slower is passed. Level speeds. The shelter is that of `laws/wake.py`.
    Source: assumption (`racing.tuck_share` 0 to 0.03). Check: tests/unit/test_racing_laws.py.
    """
    slower = 1.0 - leader / planned
    return max(0.0, min(slower, most_share - slower))
