"""Named changes of a team, its people and what they are told: copies of a race day, checked anew.

Whoever studies a race day asks for these and not for keys of the file. Where people come out of an entry list
and boxes out of a box sheet the file itself says nothing of them: only the model knows who runs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.runners.endurance import RACE_M
from simrun.runners.line_choice import CHOICES
from simrun.scenario.changes.changes_inputs import told_in
from simrun.scenario.people import MOST_OPENING
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_teams import PlanTable
from simrun.scenario.teams import Person, Team
from simrun.sources.assumed import INSIDE

ORDERS = ("opening", "line", "lines", "front")
"""What a team's table tells all of its people."""


def team_named(scenario: Scenario, team: str) -> Team:
    """The team of this name. Raises BadInput where there is none."""
    teams = {one.name: one for one in scenario.teams}
    if team not in teams:
        allowed = "one of " + ", ".join(list(teams)[:30])
        near = nearest_word(str(team), teams)
        raise BadInput(Problem("team", f"no team {team!r}", allowed, near, scenario.file))
    return teams[team]


def with_people_named(scenario: Scenario, team: str, seed: int) -> Scenario:
    """The race day with everybody of this team by name and 5 km time: the same people with every seed.

    Who is known on paper, in the scenario or in its entry list, stays as they are; the others are those that
    `seed` draws, the fastest first. Check: tests/unit/scenario/test_changes_people.py.
    """
    known = team_named(scenario, team).people
    drawn = _drawn(scenario, team, seed)
    written = written_of(scenario, team).get("people", [])
    said = [*written, *[{}] * (len(known) - len(written))]
    people = [
        {**old, "name": person.name, "time": person.time_s or one["time"]}
        for old, person, one in zip(said, known, drawn, strict=False)
    ]
    people += sorted(drawn[len(known) :], key=lambda person: person["time"])
    return scenario.changed({f"teams.{team}.people": people})


def _drawn(scenario: Scenario, team: str, seed: int) -> list[dict[str, Any]]:
    """Name and 5 km time of everybody of a team with this seed, in the order of the roster."""
    roster = scenario.roster(seed)
    return [
        {"name": roster.name[i], "time": round(RACE_M / float(roster.cruise_m_s[i]), 1)}
        for i in range(len(roster))
        if roster.team[i] == team
    ]


def with_orders(
    scenario: Scenario,
    team: str,
    openings: Mapping[str, float],
    lines: Mapping[str, str],
    front: Sequence[str] = (),
) -> Scenario:
    """The race day with this team told this and nothing else; its box and its people stay.

    openings: share faster than race pace, by runner's name. lines: a word by turn's name; front: names from
    left to right; without them nothing is told. Raises BadInput where a runner of the team has no name yet
    (`with_people_named`): an order to nobody would be no order.
    Check: tests/unit/scenario/test_changes_people.py.
    """
    told = team_named(scenario, team)
    _all_named(told)
    changes: dict[str, object] = dict.fromkeys(
        (f"teams.{team}.{key}" for key in ORDERS if key in written_of(scenario, team)), None
    )
    changes[f"teams.{team}.people"] = [_ordered(p, openings[p.name]) for p in told.people]
    if lines:
        changes[f"teams.{team}.lines"] = dict(lines)
    if front:
        changes[f"teams.{team}.front"] = list(front)
    return scenario.changed(changes)


def _all_named(team: Team) -> None:
    if len(team.people) < team.runners:
        found = f"{team.runners - len(team.people)} of its runners have no name"
        raise BadInput(
            Problem(f"teams.{team.name}.people", found, "everybody by name", "", "orders")
        )


def _ordered(person: Person, opening: float) -> dict[str, Any]:
    time = {} if person.time_s is None else {"time": person.time_s}
    return {"name": person.name, **time, "opening": opening}


def with_team_placed(scenario: Scenario, team: str, box: int, line: str) -> Scenario:
    """The race day with this team in this box, told this line at all turns.

    Whoever stood in the box takes the team's own; all others stay. "shortest": no order is given.
    """
    ours = team_named(scenario, team)
    other = next((t.name for t in scenario.teams if t.box == box and t.name != team), None)
    changes: dict[str, object] = {f"teams.{team}.box": box}
    if other and ours.box:
        changes[f"teams.{other}.box"] = ours.box
    if line in CHOICES:
        changes[f"teams.{team}.line"] = line
        written = written_of(scenario, team)
        changes |= {f"teams.{team}.lines": None} if "lines" in written else {}
        people = [dict(person) for person in written.get("people", [])]
        if any(person.pop("line", None) for person in people):
            changes[f"teams.{team}.people"] = people
    return scenario.changed(changes)


def with_draw_again(scenario: Scenario) -> Scenario:
    """The race day whose draw is drawn again for every seed: every team stands in every open box in turn.

    The people of a seed stay the same, whatever boxes were written. Check:
    tests/unit/scenario/test_draw_again.py.
    """
    alone = {"start.ours": None} if scenario.start.ours == "again" else {}
    return scenario.changed({"start.draw": "again", **alone})


def with_ours_again(scenario: Scenario, team: str | None = None) -> Scenario:
    """The race day on which our team alone stands in another box with every seed.

    Who stands there takes ours. team: the one that counts as ours, by name; None: the one that is. Raises
    BadInput where no team is, or its box is not on paper. Check: tests/unit/scenario/test_draw_again.py.
    """
    changes: dict[str, object] = {"start.ours": "again"}
    own = scenario.our_team
    if team not in (None, own):
        changes |= {f"teams.{team}.ours": True} | ({f"teams.{own}.ours": False} if own else {})
    return scenario.changed(changes)


def with_field_lines(scenario: Scenario, shares: Mapping[str, float]) -> Scenario:
    """The race day with these shares of the whole field on the inside, in the middle, on the outside.

    Where inputs are drawn the share on the inside is no longer one of them: it is told.
    Check: tests/unit/scenario/test_inputs.py.
    """
    changes: dict[str, Any] = {"field.lines": dict(shares)}
    if scenario.inputs.settles(INSIDE):
        told = {INSIDE: shares.get("inside", 0.0) / sum(shares.values())}
        changes["inputs"] = told_in(scenario, told, scenario.inputs.drawn)
    return scenario.changed(changes)


def with_lines_shared(scenario: Scenario) -> Scenario:
    """The race day with every line taken by a third of the field and own places kept across a
    narrowing: nobody crowds a chosen line. What a team or a person was told stands.
    """
    even = dict.fromkeys(CHOICES, 1 / len(CHOICES))
    return scenario.changed({"field.lines": even, "field.pull": [0.0, 0.0]})


def with_openings(scenario: Scenario, team: str, openings: Mapping[str, float]) -> Scenario:
    """The race day with everybody of this team told to go out so hard, by name; all else as they are told.

    openings: share faster than race pace, brought within what may be written. Raises BadInput where a runner
    has no name yet (`with_people_named`). Check: tests/unit/scenario/test_changes_people.py.
    """
    told = team_named(scenario, team)
    _all_named(told)
    written = written_of(scenario, team).get("people", [])
    said = [*written, *[{}] * (len(told.people) - len(written))]
    return scenario.changed(
        {
            f"teams.{team}.people": [
                {**old, **_ordered(person, within_bounds(openings[person.name]))}
                for old, person in zip(said, told.people, strict=True)
            ]
        }
    )


def moved_opening(opening: float, by: float) -> float:
    """So much harder, within what may be written."""
    return within_bounds(opening + by)


def within_bounds(opening: float) -> float:
    """The nearest opening that may be written."""
    return round(min(max(opening, 0.0), MOST_OPENING), 6)


def with_racing(scenario: Scenario) -> Scenario:
    """The same race day with everybody racing for places. Check: tests/validation/test_racing.py."""
    return scenario.changed({"field.racing": "on"})


def with_hand(scenario: Scenario, team: str, in_hand_m: float) -> Scenario:
    """The race day whose team keeps so many metres in hand of the plan as run, and is told no kick.

    A told kick spends whatever is left. The team's plan, else the field's, stays otherwise; so does that of
    a person who has one. Check: tests/unit/scenario/test_changes_people.py.
    """
    told = team_named(scenario, team)
    changes: dict[str, object] = {
        f"teams.{team}.plan": _keeping(told.plan or scenario.field.plan, in_hand_m)
    }
    own = {person.name: person.plan for person in told.people if person.plan is not None}
    if own:
        written = written_of(scenario, team).get("people", [])
        changes[f"teams.{team}.people"] = [
            {**one, "plan": _keeping(own[name], in_hand_m)} if name in own else one
            for one in written
            for name in [str(one["name"]).strip()]
        ]
    return scenario.changed(changes)


def _keeping(plan: PlanTable, in_hand_m: float) -> dict[str, Any]:
    said = plan.model_dump(by_alias=True, exclude_none=True)
    return {key: value for key, value in said.items() if key != "kick"} | {"in_hand": in_hand_m}


def written_of(scenario: Scenario, team: str) -> dict[str, Any]:
    """What the file itself says of a team; nothing of one that comes out of a list."""
    tables: list[dict[str, Any]] = scenario.document.get("teams", [])
    return next((table for table in tables if table["name"].strip() == team), {})


def with_race(scenario: Scenario, race: str) -> Scenario:
    """The race day of this one race of its entry list. Raises BadInput where the list has no such race."""
    return scenario.changed({"field.race": race})
