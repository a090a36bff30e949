"""Named changes of one order: stages, a line at one place; and how hard everybody else goes out."""

from __future__ import annotations

from typing import Any

from simrun.scenario.changes.changes_people import moved_opening, team_named, written_of
from simrun.scenario.plans import usual_opening
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_teams import ToldLine

STAGES = ("sit", "move", "kick")


def with_stages(scenario: Scenario, team: str, stages: dict[str, float]) -> Scenario:
    """The race day with this team told to sit, move and kick at these metres and nowhere else.

    stages: {"sit": 400.0}; who is not told of a stage leaves it out. Where the opening ends, what is kept in
    hand and the places wanted stay as the team's plan, else the field's, has them. A person's own plan goes
    before; `with_orders` takes those away. Check: tests/unit/scenario/test_changes_orders.py.
    """
    told = team_named(scenario, team).plan or scenario.field.plan
    said = told.model_dump(by_alias=True, exclude_none=True)
    plan = {key: value for key, value in said.items() if key not in STAGES} | stages
    return scenario.changed({f"teams.{team}.plan": plan})


def with_line_at(scenario: Scenario, team: str, gate: str, line: ToldLine) -> Scenario:
    """The race day with everybody of this team told this at one turn, narrowing or mark; all else as told.

    line: as `lines` of a team has it. A person's own line at all turns goes, where the gate is a turn. Raises
    BadInput where there is no such gate. Check: tests/unit/scenario/test_changes_orders.py.
    """
    told = team_named(scenario, team).lines
    lines = {key: value for key, value in told.items() if key.partition("@")[0] != gate}
    changes: dict[str, Any] = {f"teams.{team}.lines": {**lines, gate: line}}
    people = [dict(person) for person in written_of(scenario, team).get("people", [])]
    own = [person.pop("line", None) for person in people]
    is_turn = any(one.kind == "turn" and one.name == gate for one in scenario.strip.gates)
    if is_turn and any(own):
        changes[f"teams.{team}.people"] = people
    return scenario.changed(changes)


def with_rivals_out(scenario: Scenario, team: str, by: float) -> Scenario:
    """The race day on which all but this team go out by so much of race pace harder (below 0: calmer).

    This team is pinned: where it is told nothing it goes out as the middle of the field is written to. A
    person of another team who is told an opening keeps it. Check: tests/unit/scenario/test_changes_orders.py.
    """
    own, usual = team_named(scenario, team), usual_opening(scenario)
    changes: dict[str, Any] = {"field.opening": moved_opening(usual, by)}
    if own.opening is None:
        changes[f"teams.{team}.opening"] = usual
    for rival in scenario.teams:
        if rival.name != team and rival.opening is not None:
            changes[f"teams.{rival.name}.opening"] = moved_opening(rival.opening, by)
    return scenario.changed(changes)
