"""What does it cost to be passed? Who runs at their own pace lets go whoever passes and draws in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simrun.answers.evidence.checks import RUNNERS
from simrun.answers.evidence.experiments.arena import Crowd, crowd_race, ground, straight
from simrun.engine.run import Race

OWN_M_S, FASTER_M_S = 4.5, 4.75
FREE_M = 0.6
"""Free ground between both bodies when the one who passed has drawn in."""


def just_passed(crowd: Crowd, other_m_s: float) -> Race:
    """Two on a lane where nobody can go aside, the second at their own pace, the other just ahead of it."""
    scenario = ground([straight(400.0, 3.0 * crowd.radius_m)], [390.0], 200.0)
    stand = np.array([[20.0 + FREE_M + 2.0 * crowd.radius_m, 0.0], [20.0, 0.0]])
    race = crowd_race(scenario, crowd, stand)
    race.bodies["cruise_m_s"] = race.bodies["speed"] = [other_m_s, OWN_M_S]
    race.bodies["off"] = 1
    return race


def lost_s(crowd: Crowd) -> float:
    """Seconds that who was passed loses over the next 100 m, against running at their own pace."""
    race = just_passed(crowd, FASTER_M_S)
    began = float(race.bodies["x"][1])
    race.advance(round(100.0 / OWN_M_S / race.step_s))
    return (100.0 - (float(race.bodies["x"][1]) - began)) / OWN_M_S


def test_being_passed_costs_a_tenth_of_a_second_at_most() -> None:
    """Somebody 5 % faster draws in 0.6 m ahead and runs away: nothing stands in the way at any moment.

    A deterministic queue loses nothing there; the tenth is our own reading of it; computed
    """
    assert 0.0 <= lost_s(RUNNERS) < 0.1


def test_with_one_time_gap_for_all_it_costs_more() -> None:
    """The same with the whole time gap kept behind everybody: what made free ground cost seconds.

    computed
    """
    one = replace(RUNNERS, settings=RUNNERS.settings._replace(pack_gap_m=99.0))
    assert lost_s(one) > 2.0 * lost_s(RUNNERS)


@pytest.mark.parametrize("share", [0.5, 0.7])
def test_who_is_held_up_keeps_the_whole_gap(share: float) -> None:
    """Behind half and 70 % of the own pace the gap grows to s0 + T v, as if there were no packs.

    Treiber, Hennecke and Helbing 2000, without the free-road term; computed
    """
    leader = share * OWN_M_S
    race = just_passed(RUNNERS, leader)
    race.advance(round(40.0 / race.step_s))
    gap = float(-np.diff(race.bodies["x"])[0]) - 2.0 * RUNNERS.radius_m
    told = RUNNERS.settings
    assert gap == pytest.approx(told.standstill_gap_m + told.following_time_s * leader, rel=0.01)
