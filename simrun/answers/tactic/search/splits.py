"""How many seconds from the gun to the stake is an opening, for every runner of ours and for the others?"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from simrun.answers.tactic.orders import PEOPLE_SEED, Order, told
from simrun.engine.entering import course_share, on_this_ground, told_split_s
from simrun.engine.field import settings_for, stand_m
from simrun.engine.ground import ground_of
from simrun.engine.run import entered
from simrun.scenario.changes.changes_orders import with_rivals_out
from simrun.scenario.scenario import Scenario
from simrun.tactics.margins import own_margins
from simrun.trials.races import rows_of

Array = NDArray[np.float64]


def our_splits_s(day: Scenario, team: str, openings: Iterable[float]) -> dict[float, Array]:
    """{opening: seconds from their own gun to the stake, (n,)} of our people, each alone.

    What a body cannot do is in it: told more than that, the seconds no longer fall. nan where the opening
    ends at the line. Check: tests/unit/answers/test_tactic.py.
    """
    return {opening: _alone_s(told(day, team, Order(opening)), team) for opening in openings}


def _alone_s(arm: Scenario, team: str) -> Array:
    roster = arm.roster(PEOPLE_SEED)
    settings = settings_for(arm, PEOPLE_SEED)
    rows = np.flatnonzero(roster.team == team)
    left, right = own_margins(arm.strip, roster, settings.bend_rounding_room_m)
    stand = stand_m(arm.start_line, roster)[rows]
    some = entered(arm, rows_of(roster, rows), stand, (left[rows], right[rows]), settings)
    return np.where(some.told_s > 0.0, some.told_s + some.late_s, np.nan)


def rivals_split_s(day: Scenario, team: str, by: float) -> float:
    """In how many seconds does the middle one of the others mean to be at the stake, so much harder?"""
    arm = with_rivals_out(day, team, by)
    roster, ground = arm.roster(PEOPLE_SEED), ground_of(arm.strip)
    usual = course_share(ground_of(arm.strip.on_a_usual_day), arm.strip.length_m)
    roster = on_this_ground(roster, arm.field.seed_share(usual))
    split = told_split_s(roster, ground, arm.strip.length_m)
    return float(np.median(split[roster.team != team]))
