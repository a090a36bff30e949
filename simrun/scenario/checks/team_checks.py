"""Do the teams, their boxes, their people and their rows agree with the line?"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from simrun.base.errors import Problem, nearest_word
from simrun.scenario.checks.start_checks import row_is_tight
from simrun.scenario.tables.schema import StartTable
from simrun.scenario.tables.schema_teams import TeamTable
from simrun.scenario.tables.values import same_name
from simrun.scenario.teams import Team

Keyed = Sequence[tuple[str, TeamTable]]


def name_problems(teams: Keyed) -> Iterator[Problem]:
    """Every team has a name of its own, and at most one is ours."""
    yield from doubles([team.name for _, team in teams], "teams.name")
    ours = [team.name for _, team in teams if team.ours]
    if len(ours) > 1:
        found = "true for " + ", ".join(repr(name) for name in ours[:5])
        yield Problem("teams.ours", found, "at most one team is ours")


def doubles(names: Sequence[str], key: str) -> Iterator[Problem]:
    """One problem a name that is written more than once, whatever its capitals."""
    seen: dict[str, str] = {}
    told: set[str] = set()
    for name in names:
        first = seen.setdefault(same_name(name), name)
        if first is not name and same_name(name) not in told:
            told.add(same_name(name))
            yield Problem(key, f"{name!r} twice", "every name once")


def box_problems(start: StartTable, teams: Keyed) -> Iterator[Problem]:
    """Every team that must name its box names one that exists, is open, and is its own."""
    taken: dict[int, str] = {}
    for key, team in teams:
        if team.box is None:
            if start.draw == "list":
                allowed = f"needed with start.draw = 'list': a box from 1 to {start.boxes}"
                yield Problem(f"{key}.box", "missing", allowed)
            continue
        yield from _box_problem(start, f"{key}.box", team.box, taken)
        taken.setdefault(team.box, team.name)
    if start.ours == "again" and not _ours_is_seated(start, teams):
        allowed = (
            "only with one team of ours (ours = true) that has a box, and start.draw not 'again'"
        )
        yield Problem("start.ours", "'again'", allowed)


def _ours_is_seated(start: StartTable, teams: Keyed) -> bool:
    return start.draw != "again" and any(team.ours and team.box for _, team in teams)


def _box_problem(start: StartTable, key: str, box: int, taken: dict[int, str]) -> Iterator[Problem]:
    if box > start.boxes:
        yield Problem(key, f"box {box}", f"a box from 1 to {start.boxes}")
    elif box in start.empty:
        yield Problem(key, f"box {box}", "a box that start.empty does not leave empty")
    elif box in taken:
        found = f"box {box}, where {taken[box]!r} stands already"
        yield Problem(key, found, "one team a box")


def people_problems(key: str, team: TeamTable, ready: Team, start: StartTable) -> Iterator[Problem]:
    """The people of a team are its runners, each once, each in a row that has room."""
    twice = list(doubles([person.name for person in team.people], f"{key}.people.name"))
    yield from twice
    if len(team.people) > ready.runners:
        found = f"{len(team.people)} people"
        yield Problem(f"{key}.people", found, f"at most the {ready.runners} runners of the team")
    elif not twice:
        yield from _front_problems(key, team, ready)
        yield from _row_problems(key, team, ready.runners, start)


def _front_problems(key: str, team: TeamTable, ready: Team) -> Iterator[Problem]:
    names = [person.name for person in ready.people]
    rows = {person.name: person.row for person in ready.people}
    yield from doubles(team.front, f"{key}.front")
    for name in dict.fromkeys(team.front):
        if name not in names:
            allowed = "the name of one of the team's people"
            yield Problem(f"{key}.front", f"{name!r}", allowed, nearest_word(name, names))
        elif rows[name] not in (None, 1):
            found = f"{name!r}, whose row is {rows[name]}"
            yield Problem(f"{key}.front", found, "the front is row 1")


def _row_problems(key: str, team: TeamTable, runners: int, start: StartTable) -> Iterator[Problem]:
    if row_is_tight(start):
        return
    front_row = start.front_row
    rows = math.ceil(runners / front_row)
    placed = [person.row for person in team.people if person.row and person.name not in team.front]
    placed += [1] * len(set(team.front))
    for row in sorted(set(placed)):
        room = min(front_row, runners - (row - 1) * front_row)
        if row > rows:
            found, allowed = f"row {row}", f"{runners} runners, {front_row} abreast: {rows} rows"
            yield Problem(f"{key}.people.row", found, allowed)
        elif placed.count(row) > room:
            found = f"{placed.count(row)} people in row {row}"
            yield Problem(f"{key}.front" if row == 1 else f"{key}.people.row", found, f"{room} fit")
