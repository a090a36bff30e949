"""Named changes of people and orders: on paper, out of an entry list, and drawn, told apart nowhere."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.runners.line_choice import CHOICES
from simrun.scenario.changes.changes_people import (
    team_named,
    with_hand,
    with_openings,
    with_orders,
    with_people_named,
    with_racing,
)
from simrun.scenario.changes.differences import differences
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.plan import digest_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"
OURS = "Ellerfold"
OPENINGS = (0.0, 0.06, 0.12, 0.18, 0.24, 0.30)


@pytest.fixture(scope="module")
def fen() -> Scenario:
    return read(SCENARIOS / "brindle_fen.toml")


def told(day: Scenario, opening: float, line: str = "inside", team: str = OURS) -> Scenario:
    openings = {person.name: opening for person in team_named(day, team).people}
    return with_orders(day, team, openings, {"pump corner": line})


def test_naming_who_is_on_the_entry_list_changes_nobody(fen: Scenario) -> None:
    """Names, times to the last digit, boxes, rows and chances stay, whatever the seed."""
    named = with_people_named(fen, OURS, 1)
    for seed in (1, 5):
        before, after = fen.roster(seed), named.roster(seed)
        assert after.name == before.name
        for column in ("cruise_m_s", "box", "row", "file", "opening", "choice", "reaction_s"):
            assert (getattr(after, column) == getattr(before, column)).all()


def test_every_opening_by_every_line_is_another_race_day(fen: Scenario) -> None:
    """Eighteen orders, eighteen digests, and each reaches the runners as it was said."""
    arms = {(o, w): told(fen, o, w) for o, w in product(OPENINGS, CHOICES)}
    assert len({digest_of(arm) for arm in arms.values()}) == 18
    before = fen.roster(2)
    for (opening, line), arm in arms.items():
        roster = arm.roster(2)
        ours = roster.team == OURS
        assert ours.sum() == 7
        assert (roster.opening[ours] == opening).all()
        assert (roster.line[ours] == line).all()
        assert (roster.box == before.box).all()
        assert (roster.opening[~ours] == before.opening[~ours]).all()


def test_a_team_that_stands_in_the_lists_only_can_be_told(fen: Scenario) -> None:
    """Neither its box nor its people are written in the scenario, nor its name."""
    arm = told(fen, 0.3, "outside", "Corvane")
    roster, before = arm.roster(1), fen.roster(1)
    here = roster.team == "Corvane"
    assert (roster.opening[here] == 0.3).all()
    assert roster.box[here].tolist() == before.box[before.team == "Corvane"].tolist()
    assert sorted(roster.name) == sorted(before.name)


def test_who_runs_for_a_team_of_nine_entries_stays_the_same(fen: Scenario) -> None:
    """Seven of Corvane's nine run; told, the same seven do."""
    names = [person.name for person in team_named(fen, "Corvane").people]
    assert len(names) == 7
    arm = told(fen, 0.1, team="Corvane")
    assert [person.name for person in team_named(arm, "Corvane").people] == names


def test_an_order_to_people_without_a_name_is_refused() -> None:
    """Who is drawn anew with every seed cannot be told anything: named first, or a mistake."""
    dual = read(SCENARIOS / "dual_meet.toml")
    with pytest.raises(BadInput, match="10 of its runners have no name"):
        with_orders(dual, "Millbrook", {}, {})
    named = with_people_named(dual, "Millbrook", 1)
    openings = {person.name: 0.2 for person in team_named(named, "Millbrook").people}
    roster = with_orders(named, "Millbrook", openings, {}).roster(4)
    assert np.unique(roster.opening[roster.team == "Millbrook"]).tolist() == [0.2]


def test_naming_our_people_is_no_difference_of_plan(fen: Scenario) -> None:
    """Between the papers and an order only the order differs, person by person."""
    assert differences(fen, with_people_named(fen, OURS, 1)) == []
    found = differences(fen, told(fen, 0.3, "outside"))
    assert {(key[-1], one, other) for key, one, other in found} == {
        ("opening", "as the field", "0.3"),
        ("pump corner", "as the field", "outside"),
    }


def test_a_team_told_to_keep_metres_in_hand_is_told_no_kick() -> None:
    """The team's plan, else the field's, stays otherwise; the others keep theirs, kick and all; so does a
    person's own plan but for the two. Also for a team out of an entry list."""
    heath = read(SCENARIOS / "sallow_heath.toml")
    own = [{"name": "Aro Fen", "plan": {"sit": 900, "kick": 4700}}, {"name": "Bel Holt"}]
    day = with_hand(heath.changed({"teams.Alderbrook.people": own}), "Alderbrook", 30.0)
    ours = team_named(day, "Alderbrook")
    assert ours.plan is not None
    told = ours.plan.model_dump(exclude_none=True)
    assert told == {"settle_m": 250.0, "sit_m": 1200.0, "move_m": 3300.0, "in_hand_m": 30.0}
    first, second = ours.people
    assert first.plan is not None
    assert first.plan.model_dump(exclude_none=True) == {"sit_m": 900.0, "in_hand_m": 30.0}
    assert second.plan is None
    raced = with_racing(day).roster(1)
    mine = raced.team == "Alderbrook"
    assert (raced.in_hand_m[mine] == 30.0).all()
    assert np.isinf(raced.kick_m[mine]).all()
    assert (raced.kick_m[~mine] == 4600.0).all()
    fen = with_hand(read(SCENARIOS / "brindle_fen.toml"), "Ashmarl", 25.0)
    roster = with_racing(fen).roster(1)
    assert (roster.in_hand_m[roster.team == "Ashmarl"] == 25.0).all()
    assert len(fen.teams) == 12


def test_openings_are_told_by_name_and_the_rest_stays(fen: Scenario) -> None:
    """Everybody's own, never below race pace nor above what may be written; line and rivals as they were."""
    day = with_people_named(fen, OURS, 1).changed({f"teams.{OURS}.line": "outside"})
    names = [person.name for person in team_named(day, OURS).people]
    shares = dict(zip(names, (0.16, -0.3, 0.9, 0.1, 0.12, 0.0, 0.2), strict=True))
    told = with_openings(day, OURS, shares)
    ours = told.roster(2).team == OURS
    np.testing.assert_allclose(
        told.roster(2).opening[ours], (0.16, 0.0, 0.4, 0.1, 0.12, 0.0, 0.2), atol=1e-9
    )
    np.testing.assert_array_equal(told.roster(2).opening[~ours], day.roster(2).opening[~ours])
    assert team_named(told, OURS).line == "outside"
    ferry = read(SCENARIOS / "ferry_meadow.toml")
    with pytest.raises(BadInput, match="everybody by name"):
        with_openings(ferry, ferry.teams[-1].name, {})
