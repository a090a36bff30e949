"""How much faster or slower than planned does a runner wish to go because of the others?"""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled
from simrun.tactics.chase import chase_more, hold_back, spare_m
from simrun.tactics.company import cover_more, tuck_less
from simrun.tactics.front import ramp
from simrun.tactics.kick import kick_more


@compiled
def raced_over_planned(
    station_m: float, ground_share: float, planned: float, me: Any, settings: Any
) -> float:
    """The ratio of the raced to the planned wish: 1 where nobody is raced.

    The largest of chase, covering and kick, each only out of what is spare above the floor of the reserve;
    with none of them, tucking in or holding back. Before `seek_m` there are no places yet.
    Check: tests/unit/tactics/test_racing_laws.py, tests/validation/test_racing.py.
    """
    if station_m < me.seek_m:
        return 1.0
    left_m = max(0.0, me.finish_m - station_m)
    left_level = left_m / me.course_share
    spare = spare_m(station_m, me, settings) - settings.floor_m
    means = ramp(spare, 0.0, settings.floor_ease_m)
    behind = me.place - me.last_place
    more = means * chase_more(
        behind,
        me.gap_m,
        settings.chase_share,
        settings.chase_slack_places,
        settings.chase_whole_places,
        settings.chase_room_m,
    )
    if behind >= 0.0:
        fastest = me.cover_m_s / ground_share
        more = max(more, means * cover_more(fastest, planned, settings.cover_share))
    if left_m <= settings.kick_for_m and me.kick_m > me.finish_m:
        most = me.cruise_m_s * (1.0 + settings.kick_most_share)
        left = me.reserve_m - settings.floor_m
        more = max(more, kick_more(me.in_reach, left_level, left, me.critical_m_s, planned, most))
    if more > 0.0:
        return 1.0 + more
    less = hold_back(
        me.first_place - me.place, settings.hold_back_share, settings.chase_slack_places
    )
    if me.tuck_m_s > 0.0 and left_m > settings.kick_for_m:
        leader = me.tuck_m_s / ground_share
        less = max(less, tuck_less(leader, planned, settings.tuck_share))
    return 1.0 - less
