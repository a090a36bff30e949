"""A team is late at the gun by so many seconds: what does it do about it?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.engine.run import Race
from simrun.state.arrays import PLAN_ONLY
from simrun.tactics.chase import spare_m
from simrun.tactics.regain import LATE, REGAINED, even_share, regain_share

Array = NDArray[np.float64]

BY_PLAN, FOR_PLACES = "by plan", "for places"
WAYS = (BY_PLAN, *REGAINED, FOR_PLACES)
"""by plan: nothing is done about it; at once, evenly, late: run back out of what is spare; for places: the
runners chase as everybody in the race does, whatever they lost."""

LOOKS_S = 1.0
"""So often does somebody who runs seconds back reckon how many are left and what is to spare."""


@dataclass(frozen=True)
class SetBack:
    """This team is late at the gun by so many seconds, which are in nobody's plan, and does this about it."""

    team: str
    seconds: float
    way: str


def run_set_back(race: Race, told: SetBack) -> Race:
    """Run a race for places that has not begun to its end, with a team set back at the gun.

    The others race as ever. Who is late by nothing runs by plan to the last bit, whichever way they would
    have run it back. Check: tests/unit/engine/test_set_back.py.
    """
    ours = np.flatnonzero(race.roster.team == told.team)
    race.runners["wait_s"][ours] += told.seconds
    if told.way == FOR_PLACES:
        return race.run()
    race.runners["races"][ours] = PLAN_ONLY
    if told.way == BY_PLAN:
        return race.run()
    owed, begun = np.full(len(ours), told.seconds), np.zeros(len(ours), dtype=bool)
    every = max(1, round(LOOKS_S / race.step_s))
    while not race.is_over:
        race.advance(every)
        _look(race, ours, told.way, owed, begun)
    return race


def _look(race: Race, ours: NDArray[np.int64], way: str, owed: Array, begun: NDArray) -> None:
    """Count what was run back since the last look, and say how hard each goes on; owed, begun: theirs."""
    settings = race.settings
    station = race.station_m(race.bodies[ours])
    for k, i in enumerate(ours):
        me = race.bodies[i]
        if me.gone == 1 or station[k] < me.seek_m:
            continue
        planned = me.wished_m_s / me.race_share
        if me.race_share > 1.0 and planned > 0.0:
            owed[k] -= LOOKS_S * max(0.0, me.speed / planned - 1.0)
        left = max(0.0, me.finish_m - station[k]) / me.course_share
        spare = spare_m(station[k], me, settings) - settings.floor_m
        even = even_share(
            owed[k], spare, left, me.critical_m_s, me.cruise_m_s, settings.dearer_share
        )
        share = regain_share(way, even, settings.chase_share, bool(begun[k]))
        begun[k] |= way == LATE and share > 0.0
        race.bodies["race_share"][i] = 1.0 + share
