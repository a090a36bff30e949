"""A team late at the gun: nothing lost is nothing run back, and alone the arithmetic holds."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.engine.run import Race, field_of
from simrun.engine.set_back import BY_PLAN, FOR_PLACES, SetBack, run_set_back
from simrun.scenario.changes.changes_people import with_hand, with_racing
from simrun.scenario.scenario import Scenario
from simrun.tactics.regain import AT_ONCE, EVENLY, LATE
from tests.helpers.worlds import TWO_ON_A_FIELD, scenario_of

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"


def race(day: Scenario, way: str, seconds: float, seed: int = 2) -> Race:
    team = str(day.our_team)
    return run_set_back(field_of(day, seed, frames=False), SetBack(team, seconds, way))


@pytest.mark.parametrize("way", [AT_ONCE, EVENLY, LATE])
def test_who_is_late_by_nothing_runs_by_plan_to_the_last_bit(way: str) -> None:
    """The placebo: whichever way it would be run back, in a crowded race."""
    day = with_hand(with_racing(simrun.read(DUAL)), "Millbrook", 20.0)
    plan, other = race(day, BY_PLAN, 0.0), race(day, way, 0.0)
    np.testing.assert_array_equal(plan.tape.crossing_s, other.tape.crossing_s)
    np.testing.assert_array_equal(plan.tape.reserve_m, other.tape.reserve_m)


def test_only_the_team_is_late_and_only_it_keeps_to_the_plan() -> None:
    """By so many seconds at the gun; racing for places is the race as it is."""
    day = with_racing(simrun.read(DUAL))
    ours = day.roster(2).team == "Millbrook"
    plain = field_of(day, 2, frames=False)
    waits = plain.runners["wait_s"].copy()
    late = field_of(day, 2, frames=False)
    late.last_step = 0
    run_set_back(late, SetBack("Millbrook", 7.0, AT_ONCE))
    np.testing.assert_allclose(late.runners["wait_s"] - waits, np.where(ours, 7.0, 0.0))
    assert (late.runners["races"] == np.where(ours, 1, 2)).all()
    raced = run_set_back(field_of(day, 2, frames=False), SetBack("Millbrook", 0.0, FOR_PLACES))
    np.testing.assert_array_equal(raced.tape.crossing_s, plain.run().tape.crossing_s)


@pytest.mark.parametrize("way", [AT_ONCE, EVENLY, LATE])
def test_alone_what_was_left_is_what_is_run_back(way: str, tmp_path: Path) -> None:
    """t = what is left less than the twin leaves / (critical + dearer pace), within 10 %; by plan nothing.

    Hardly more than the floor is left unspent: the wander of the pace takes a few metres more or less than
    the plan. With more in hand than the delay costs, the delay and no more.
    """
    field = scenario_of(TWO_ON_A_FIELD, tmp_path)
    far = field.changed({"course.pieces.field.length": 4000, "clock.limit": "20 min"})
    day = with_hand(far, "Alderbrook", 40.0)
    twin = race(day, BY_PLAN, 0.0)
    plan, back = race(day, BY_PLAN, 10.0), race(day, way, 10.0)
    finish = [one.tape.crossing_s[0, -1] for one in (twin, plan, back)]
    assert finish[1] - finish[0] == pytest.approx(10.0, abs=0.05)
    me, settings = twin.runners[0], twin.settings
    spent = twin.tape.reserve_m[0, -1] - back.tape.reserve_m[0, -1]
    assert spent > 20.0
    assert back.tape.reserve_m[0, -1] < settings.floor_m + 5.0
    expected = spent / (me.critical_m_s + settings.dearer_share * me.cruise_m_s)
    assert finish[1] - finish[2] == pytest.approx(expected, rel=0.1)
    little = race(day, way, 2.0).tape.crossing_s[0, -1]
    assert little - finish[0] == pytest.approx(0.0, abs=0.2)
