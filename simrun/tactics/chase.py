"""Who runs harder for a place, and who may? Wanted place, free track, and what is spare of the reserve."""

from __future__ import annotations

from simrun.base.compiled import compiled
from simrun.tactics.front import ramp


@compiled
def spare_m(reserve: float, left_level_m: float, critical: float, pace: float) -> float:
    """What is left of the reserve beyond what running on at `pace` will take?

    reserve - left (1 - critical / pace); left_level_m: level metres to the finish. Below critical
    speed nothing is taken. Check: tests/unit/tactics/test_racing_laws.py.
    """
    return reserve - left_level_m * max(0.0, 1.0 - critical / pace)


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
