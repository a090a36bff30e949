"""How fast does a runner want to go at this point of the race?

Open, settle, sit, move, kick: each begins somewhere along the measured line; who has no such place in
the plan leaves it out. All speeds are those of a level road.
"""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled


@compiled
def planned_speed_m_s(
    station_m: float, cruise_m_s: float, opening: float, opening_m: float, settle_m: float
) -> float:
    """Race pace, faster by the share `opening` over the first `opening_m`, settled after `settle_m` more."""
    if station_m < opening_m:
        return cruise_m_s * (1.0 + opening)
    if station_m < opening_m + settle_m:
        return cruise_m_s * (1.0 + opening * (1.0 - (station_m - opening_m) / settle_m))
    return cruise_m_s


@compiled
def kick_speed_m_s(left_m: float, reserve: float, critical: float, most: float) -> float:
    """The even speed that spends what is left of the reserve exactly at the finish, at most `most`.

    left = critical t + reserve, so v = left / t = critical left / (left - reserve).
    """
    if left_m - reserve <= 0.0:
        return most
    return min(most, critical * left_m / (left_m - reserve))


@compiled
def stage_speed_m_s(station_m: float, ground_share: float, me: Any, settings: Any) -> float:
    """What the plan says here: the last stage that has begun. `me` is a body's record."""
    if station_m >= me.kick_m:
        left_m = (me.finish_m - station_m) / ground_share
        most = me.cruise_m_s * (1.0 + settings.kick_most_share)
        return kick_speed_m_s(left_m, me.reserve_m, me.critical_m_s, most)
    if station_m >= me.move_m:
        return me.cruise_m_s * (1.0 + settings.move_share)
    if station_m >= me.sit_m:
        return me.cruise_m_s * (1.0 - settings.sit_share)
    return planned_speed_m_s(station_m, me.cruise_m_s, me.opening, me.opening_m, me.settle_m)
