"""Who kicks? Whoever has a place within reach, with what was kept."""

from __future__ import annotations

from simrun.base.compiled import compiled
from simrun.tactics.pace import kick_speed_m_s


@compiled
def reach_m(left_m: float, reach_share: float, least_m: float) -> float:
    """How far ahead is a place that can still be had? A share of what is left to run, and some metres.

    share: by how much a kick is faster than those ahead (`racing.kick_reach_share`).
    Source: assumption. Check: tests/unit/tactics/test_racing_laws.py.
    """
    return reach_share * left_m + least_m


@compiled
def kick_more(
    in_reach: int, left_level_m: float, reserve: float, critical: float, planned: float, most: float
) -> float:
    """By which share does a runner kick? With nobody in reach not at all: a kick is for places.

    Else the even speed that spends the rest exactly at the finish (`kick_speed_m_s`), at most `most`.
    reserve: what is left above the floor.
    Source: assumption. Check: tests/unit/tactics/test_racing_laws.py.
    """
    if in_reach == 0 or reserve <= 0.0:
        return 0.0
    return max(0.0, kick_speed_m_s(left_level_m, reserve, critical, most) / planned - 1.0)
