"""Who runs harder for a place, and who may? Wanted place, free track, and what is spare of the reserve."""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled
from simrun.tactics.front import ramp


@compiled
def spare_m(station_m: float, me: Any, settings: Any) -> float:
    """What is left of the reserve beyond what the plan will still take?

    The plan from here to the finish: race pace, then sitting, then moving, each over its level metres (a told
    kick takes what is left). The opening is over. Check: tests/unit/tactics/test_racing_laws.py.
    """
    finish = max(station_m, me.finish_m)
    move = max(station_m, min(me.move_m, finish))
    sit = max(station_m, min(me.sit_m, move))
    takes = taken_m(sit - station_m, me.cruise_m_s, me, settings)
    takes += taken_m(move - sit, me.cruise_m_s * (1.0 - settings.sit_share), me, settings)
    takes += taken_m(finish - move, me.cruise_m_s * (1.0 + settings.move_share), me, settings)
    return me.reserve_m - takes


@compiled
def taken_m(way_m: float, speed: float, me: Any, settings: Any) -> float:
    """What does a way at this level speed take of the reserve? Nothing below the critical speed.

    way / course share (v - critical + dearer (v - pace)) / v, the last only above race pace.
    Check: tests/unit/tactics/test_racing_laws.py.
    """
    dearer = settings.dearer_share * max(0.0, speed - me.cruise_m_s)
    above = max(0.0, speed - me.critical_m_s) + dearer
    return way_m / me.course_share * above / speed


@compiled
def chase_more(
    places_behind: float,
    gap_m: float,
    most_share: float,
    slack_places: float,
    whole_places: float,
    room_m: float,
) -> float:
    """By which share does a runner so many places behind the wanted one run harder?

    most x (places behind, from slack to whole) x (free track ahead, from 1 m less to 1 m more than room):
    who is stuck waits for room. Speed rises while a competitor is in range ahead (Nature 413:127, 2001,
    abstract seen); size 0.02 to 0.06 and places are assumed (`racing.chase_*`).
    Source: assumption. Check: tests/unit/tactics/test_racing_laws.py.
    """
    wanted = ramp(places_behind, slack_places, whole_places)
    return most_share * wanted * ramp(gap_m, room_m - 1.0, room_m + 1.0)


@compiled
def hold_back(places_ahead: float, most_share: float, whole_places: float) -> float:
    """By which share does somebody who was told not to lead run easier? Whole at `whole_places` too far up.

    Source: assumption (`racing.hold_back_share`). Check: tests/unit/tactics/test_racing_laws.py.
    """
    return most_share * ramp(places_ahead, 0.0, whole_places)
