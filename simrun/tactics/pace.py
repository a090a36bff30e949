"""How fast does a runner want to go at this point of the race?"""

from __future__ import annotations

from simrun.compiled import compiled


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
