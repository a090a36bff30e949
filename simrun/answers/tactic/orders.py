"""What can a coach tell a team? Opening effort, a line at each turn, who stands in the front row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.scenario.scenario import Scenario
from simrun.scenario.teams import Team

RACE_M = 5000.0
OPENINGS = (0.0, 0.06, 0.12, 0.18, 0.24, 0.30)
"""Shares faster than race pace that are tried."""

PEOPLE_SEED = 1
"""A team whose people nobody named runs with those of this seed, the same in every race."""


@dataclass(frozen=True)
class Order:
    """What a team is told. opening: share faster than race pace, for all or by runner's name. lines: a word
    by turn's name. front: who stands in the front row, from left to right; empty: as listed.
    """

    opening: float | Mapping[str, float]
    lines: Mapping[str, str] = field(default_factory=dict)
    front: tuple[str, ...] = ()

    def opening_of(self, runner: str) -> float:
        """How much faster than race pace is this runner told to go out?"""
        return (
            self.opening if isinstance(self.opening, int | float) else float(self.opening[runner])
        )


def the_team(scenario: Scenario, name: str | None) -> Team:
    """The team of this name; None: ours. Raises BadInput with the nearest name."""
    wanted = scenario.our_team if name is None else name
    names = [team.name for team in scenario.teams]
    if wanted is None:
        allowed = "one team marked ours = true, or the team's name"
        raise BadInput(Problem("teams.ours", "no team", allowed, "", scenario.file))
    if wanted not in names:
        allowed = "one of " + ", ".join(names[:40])
        near = nearest_word(wanted, names)
        raise BadInput(Problem("team", repr(wanted), allowed, near, scenario.file))
    return scenario.teams[names.index(wanted)]


def with_our_people(scenario: Scenario, team: str) -> Scenario:
    """The scenario with everybody of this team by name and 5 km time, as told where they were told.

    So the same seven run in every race, and one runner's answer can be followed through all of them.
    Who is not named on paper is the one drawn with `PEOPLE_SEED`, the fastest first.
    """
    told = the_team(scenario, team)
    roster = scenario.roster(PEOPLE_SEED)
    rows = [i for i in range(len(roster)) if roster.team[i] == team]
    drawn = [
        {"name": roster.name[i], "time": round(RACE_M / float(roster.cruise_m_s[i]), 1)}
        for i in rows
    ]
    written = _table(scenario, team).get("people", [])
    people = [old | new for old, new in zip(written, drawn[: len(written)], strict=True)]
    people += sorted(drawn[len(told.people) :], key=lambda person: person["time"])
    return scenario.changed({f"teams.{team}.people": people})


def told(scenario: Scenario, team: str, order: Order) -> Scenario:
    """The scenario with this team, its people named, told this and nothing else."""
    table = {
        key: value
        for key, value in _table(scenario, team).items()
        if key not in ("opening", "line", "lines", "front")
    }
    table["people"] = [
        {
            "name": person["name"],
            "time": person["time"],
            "opening": order.opening_of(person["name"]),
        }
        for person in table["people"]
    ]
    if order.lines:
        table["lines"] = dict(order.lines)
    if order.front:
        table["front"] = list(order.front)
    return scenario.changed({f"teams.{team}": table})


def turns_of(scenario: Scenario) -> list[str]:
    """The named turns before the last checkpoint, in the order in which they come."""
    strip = scenario.strip
    last = strip.checkpoints[-1].station_m
    names = [
        gate.name
        for gate in strip.gates
        if gate.kind == "turn" and strip.station_m[gate.first_cut] < last
    ]
    return list(dict.fromkeys(names))


def fronts_of(scenario: Scenario, team: str) -> dict[str, tuple[str, ...]]:
    """Who could stand in the front row? {words: names}; one entry where all fit into it.

    Every row of neighbours by 5 km time: the fastest, the next, ... the slowest.
    """
    people = the_team(scenario, team).people
    abreast, count = scenario.start.front_row, len(people)
    names = [p.name for p in sorted(people, key=lambda p: p.time_s or 0.0)]
    if count <= abreast:
        return {"all in the front row": ()}
    step = max(1, (count - abreast) // 2)
    firsts = sorted({0, min(step, count - abreast), count - abreast})
    return {
        _words(first, abreast, count): tuple(names[first : first + abreast]) for first in firsts
    }


def _words(first: int, abreast: int, count: int) -> str:
    if first == 0:
        return f"our {abreast} fastest in front" if abreast > 1 else "our fastest in front"
    if first == count - abreast:
        return f"our {abreast} slowest in front" if abreast > 1 else "our slowest in front"
    return (
        f"our {first + 1} to {first + abreast} in front"
        if abreast > 1
        else f"our {first + 1} in front"
    )


def _table(scenario: Scenario, team: str) -> dict[str, Any]:
    tables: list[dict[str, Any]] = scenario.document.get("teams", [])
    return next((dict(table) for table in tables if table["name"].strip() == team), {})
