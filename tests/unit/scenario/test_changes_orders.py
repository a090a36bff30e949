"""Where a team sits and goes, how hard the others go out, one more mark: nothing else of the day moves."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.scenario.changes.changes_course import with_more_checkpoints
from simrun.scenario.changes.changes_orders import with_line_at, with_rivals_out, with_stages
from simrun.scenario.changes.changes_people import with_racing
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[3] / "scenarios"
OURS = {"dual_meet": "Millbrook", "brindle_fen": "Ellerfold", "ferry_meadow": "Alderbrook"}


@pytest.fixture(scope="module", params=list(OURS))
def day(request: pytest.FixtureRequest) -> Scenario:
    return with_racing(read(SCENARIOS / f"{request.param}.toml"))


def changed(before: Scenario, after: Scenario) -> set[str]:
    """Which columns of the roster are another's?"""
    one, other = before.roster(3), after.roster(3)
    same = {
        column.name
        for column in fields(one)
        if np.array_equal(getattr(one, column.name), getattr(other, column.name))
    }
    return {column.name for column in fields(one)} - same


def test_stages_are_told_to_one_team(day: Scenario) -> None:
    """Sit and move where told, for ours; with nothing told, and again, as before."""
    team = day.our_team or ""
    arm = with_stages(day, team, {"sit": 300.0, "move": 400.0})
    assert changed(day, arm) == {"sit_m", "move_m"}
    roster = arm.roster(3)
    assert set(roster.sit_m[roster.team == team]) == {300.0}
    assert np.isinf(roster.sit_m[roster.team != team]).all()
    assert changed(day, with_stages(arm, team, {})) == set()


def test_what_else_a_plan_says_stays(day: Scenario) -> None:
    """Where the opening ends and the places wanted; a kick goes with the stages."""
    team = day.our_team or ""
    told = day.changed({f"teams.{team}.plan": {"settle": 120.0, "kick": 400.0, "places": [2, 9]}})
    plan = next(t.plan for t in with_stages(told, team, {"move": 350.0}).teams if t.ours)
    assert plan is not None
    assert (plan.settle_m, plan.move_m, plan.kick_m, plan.places) == (120.0, 350.0, None, (2, 9))


@pytest.mark.parametrize("by", [0.05, -0.05])
def test_the_others_go_out_harder_and_ours_do_not(day: Scenario, by: float) -> None:
    """Everybody of another team by just so much, ours as with the others unmoved; nothing else moves."""
    team = day.our_team or ""
    plain, moved = with_rivals_out(day, team, 0.0), with_rivals_out(day, team, by)
    assert changed(plain, moved) == {"opening"}
    one, other = plain.roster(3), moved.roster(3)
    ours = one.team == team
    assert (one.opening[ours] == other.opening[ours]).all()
    free = (one.opening > 0) & (other.opening > 0) & ~ours
    assert other.opening[free] - one.opening[free] == pytest.approx(np.full(free.sum(), by))


def test_one_more_mark(day: Scenario) -> None:
    marks = [mark.name for mark in day.strip.checkpoints]
    after = with_more_checkpoints(day, [("oak stump", 150.0)]).strip.checkpoints
    assert {mark.name for mark in after} == {*marks, "oak stump"}
    assert [mark.station_m for mark in after] == sorted(mark.station_m for mark in after)


@pytest.mark.parametrize(
    ("gate", "line", "words"),
    [
        ("barn corner", "left", "it is a turn"),
        ("barn corner", ["inside", "outside"], "entry, apex and exit"),
        ("barn corner", ["inside", "own", "inside"], "inside, middle, outside"),
        ("barn corner", ["inside", 400.0, "inside"], "metres off the inside edge"),
        ("headland", "inside", "left, middle or right"),
        ("headland", ["left", "left", "left"], "inside, middle, outside"),
        ("throat", "left", "own"),
        ("hedland", "left", "headland"),
    ],
)
def test_what_cannot_be_told_at_a_place_is_refused(gate: str, line: object, words: str) -> None:
    """One error with what may be told there, or with the nearest name."""
    day = read(SCENARIOS / "ferry_meadow.toml")
    with pytest.raises(BadInput, match=words) as wrong:
        with_line_at(day, "Alderbrook", gate, line)  # type: ignore[arg-type]
    assert len(wrong.value.problems) == 1


def test_a_line_at_one_turn_leaves_the_others_as_told() -> None:
    """A person's own line goes, the team's word for all turns stays for the other turns."""
    day = read(SCENARIOS / "ferry_meadow.toml").changed(
        {"teams.Alderbrook.people": [{"name": "Aro Fen", "line": "outside"}]}
    )
    after = with_line_at(day, "Alderbrook", "barn corner", "middle").roster(1)
    ours = after.team == "Alderbrook"
    turns = [g for g, gate in enumerate(day.strip.gates) if gate.kind == "turn"]
    names = [day.strip.gates[g].name for g in turns]
    for g, name in zip(turns, names, strict=True):
        word = "middle" if name == "barn corner" else "inside"
        assert set(after.choice[ours, g]) == {word}
