"""The pacing plan by section: read, told, refused, run."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.engine.run import Race
from simrun.scenario.scenario import Scenario
from simrun.tactics.margins import own_margins
from tests.helpers.worlds import SHARP_TURN, scenario_of

COLUMNS = ("opening_m", "settle_m", "sit_m", "move_m", "kick_m")


ROAD = """
name = "Road"
[clock]
limit = "12 min"
[start]
width = 10
boxes = 1
box_width = 4
front_row = 1
[course]
[[course.pieces]]
piece = "straight"
length = 2300
width = 10
surface = "road"
[[course.checkpoints]]
name = "a"
at = 600
[[course.checkpoints]]
name = "b"
at = 1100
[[course.checkpoints]]
name = "c"
at = 1600
[[course.checkpoints]]
name = "d"
at = 2100
[field]
ability = "even"
time = "16:40"
runners = 1
opening = 0.0
opening_spread = 0.0
fill = true
plan = { sit = 600, move = 1100, kick = 1600 }
"""


@pytest.fixture
def day(tmp_path: Path) -> Scenario:
    return scenario_of(SHARP_TURN, tmp_path)


def refusal(day: Scenario, changes: dict[str, object]) -> str:
    with pytest.raises(BadInput) as caught:
        day.changed(changes)
    assert len(caught.value.problems) == 1
    return str(caught.value)


def test_without_a_plan_nobody_sits_moves_or_kicks(day: Scenario) -> None:
    """Open for 200 m and settle over 200 m, as before."""
    roster = day.roster(1)
    assert set(roster.opening_m) == {200.0}
    for stage in ("sit_m", "move_m", "kick_m"):
        assert np.isinf(getattr(roster, stage)).all()


def test_a_plan_is_the_fields_the_teams_or_a_persons_as_a_whole(day: Scenario) -> None:
    """Who has an own plan has nothing of the team's, and a team nothing of the field's."""
    person = {"name": "Ada", "row": 1, "plan": {"kick": 400}}
    roster = day.changed(
        {
            "field.plan": {"settle": 150, "sit": 250, "kick": 500},
            "teams.Alderbrook.plan": {"settle": "120 m", "move": 300},
            "teams.Alderbrook.people": [person],
        }
    ).roster(1)
    ours, ada = roster.team == "Alderbrook", roster.name.index("Ada")
    others = np.flatnonzero(~ours)[0]
    team = np.flatnonzero(ours)[1]
    told = {who: [float(getattr(roster, c)[who]) for c in COLUMNS] for who in (others, team, ada)}
    assert told[others] == [150.0, 200.0, 250.0, np.inf, 500.0]
    assert told[team] == [120.0, 200.0, np.inf, 300.0, np.inf]
    assert told[ada] == [200.0, 200.0, np.inf, np.inf, 400.0]


def test_a_plan_moves_nothing_else_of_the_draw(day: Scenario) -> None:
    """Reserves come out of a stream of their own; a plan changes no other column of anybody."""
    plain, planned = day.roster(3), day.changed({"field.plan": {"kick": 400}}).roster(3)
    assert 100.0 <= plain.reserve_m.min() < plain.reserve_m.max() <= 250.0
    for column in ("cruise_m_s", "opening", "reaction_s", "wander", "pull", "reserve_m"):
        np.testing.assert_array_equal(getattr(plain, column), getattr(planned, column))


def test_an_unknown_stage_names_the_nearest(day: Scenario) -> None:
    """`kik` was meant to be `kick`, wherever it stands."""
    for key in ("field.plan", "teams.Alderbrook.plan"):
        text = refusal(day, {key: {"kik": 400}})
        allowed = "settle, sit, move, kick, in_hand, places"
        assert f"unknown key; allowed here: {allowed}; did you mean 'kick'?" in text
        assert f"{key}.kik" in text


def test_stages_come_in_their_order_and_before_the_finish(day: Scenario) -> None:
    """One line each: a kick before the move, a stage behind the finish."""
    text = refusal(day, {"field.plan": {"move": 300, "kick": 250}})
    assert (
        "field.plan.kick: 250 m; after move, at 300 m: settle, sit, move, kick in this order"
        in text
    )
    text = refusal(day, {"teams.Alderbrook.plan": {"kick": 4600}})
    assert "teams.Alderbrook.plan.kick: 4600 m; before the finish, at 61" in text


def test_the_stages_are_run(tmp_path: Path) -> None:
    """Alone on a straight road: below race pace while sitting, above it after the move, and the kick is even
    and leaves nothing: left = critical t + reserve."""
    scenario = scenario_of(ROAD, tmp_path)
    roster = replace(scenario.roster(1), wander=np.ones((1, 1)))
    own = own_margins(scenario.strip, roster)
    race = Race(scenario, roster, np.zeros((1, 2)), own, alone=True, frames=False).run()
    pace = 500.0 / np.diff(race.tape.crossing_s[0])
    cruise, critical = float(roster.cruise_m_s[0]), float(roster.critical_m_s[0])
    assert pace[0] / cruise == pytest.approx(0.98, abs=0.001)
    assert pace[1] / cruise == pytest.approx(1.03, abs=0.001)
    left_m, reserve_m = 2300.0 - 1600.0, float(race.tape.reserve_m[0, 2])
    plain = critical * left_m / (left_m - reserve_m)
    # What is run above race pace costs a little more than the plain model counts on.
    assert 0.985 * plain < pace[2] <= plain
    assert pace[2] > 1.1 * cruise
