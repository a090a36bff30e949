"""Every team of the race in one form: as written, out of the entry list, or made up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from dataclasses import field as made

from simrun.base.errors import Problem, nearest_word
from simrun.runners.seed_times import Entry
from simrun.scenario.checks.team_checks import (
    box_problems,
    name_problems,
    people_problems,
)
from simrun.scenario.paper import Paper
from simrun.scenario.tables.schema import StartTable
from simrun.scenario.tables.schema_teams import (
    MOST_RUNNERS,
    FieldTable,
    PersonTable,
    TeamTable,
)
from simrun.scenario.tables.values import same_name
from simrun.scenario.teams import Person, Team


@dataclass
class LineUp:
    """The teams as they become ready, and the mistakes found on the way."""

    start: StartTable
    field: FieldTable
    entries: tuple[Entry, ...] | None
    teams: list[Team] = made(default_factory=list)
    problems: list[Problem] = made(default_factory=list)

    @property
    def entries_lost(self) -> bool:
        """Is there an entry list that could not be read? Then nothing is known about its people."""
        return self.field.seed_times is not None and self.entries is None

    def entries_of(self, team: str) -> list[Entry]:
        """The entry list's people of one team, in the list's order."""
        wanted = same_name(team)
        return [entry for entry in self.entries or () if same_name(entry.team) == wanted]


def line_up(paper: Paper, entries: tuple[Entry, ...] | None) -> LineUp | None:
    """All teams of a paper whose line and field can be read; None when they cannot."""
    if paper.start is None or paper.field is None:
        return None
    up = LineUp(paper.start, paper.field, entries)
    keyed = list(zip(paper.team_keys, paper.teams, strict=True))
    up.problems += name_problems(paper.seated)
    up.problems += box_problems(paper.start, paper.seated)
    for key, table in keyed:
        _add_written(up, key, table)
    if paper.all_teams_read and not up.entries_lost:
        _add_others(up, keyed)
    return up


def _add_written(up: LineUp, key: str, table: TeamTable) -> None:
    entries = up.entries_of(table.name)
    people = _people_of(table, entries)
    runners = _runner_count(up, key, table, len(people))
    team = Team(
        name=table.name,
        runners=runners,
        box=None if up.start.draw == "again" else table.box,
        ours=table.ours,
        opening=table.opening,
        line=table.line,
        lines=dict(table.lines),
        pull=table.pull,
        plan=table.plan,
        start=table.start,
        front=table.front,
        people=people[:runners],
    )
    up.teams.append(team)
    if up.entries_lost:
        return
    up.problems += people_problems(key, table, team, up.start)
    if up.entries is not None:
        up.problems += _time_problems(up, key, table, entries)


def _people_of(table: TeamTable, entries: Sequence[Entry]) -> tuple[Person, ...]:
    """The team's own people in their order, then the rest of the entry list."""
    listed = {same_name(entry.name): entry for entry in entries}
    written = [_written_person(person, listed) for person in table.people]
    named = {same_name(person.name) for person in written}
    rest = [_person(entry) for entry in entries if same_name(entry.name) not in named]
    return (*written, *rest)


def _written_person(written: PersonTable, listed: Mapping[str, Entry]) -> Person:
    """As the team's table says; the time out of the entry list where the table has none."""
    entry = None if written.time_s else listed.get(same_name(written.name))
    return Person(
        written.name,
        entry.time_s if entry else written.time_s,
        written.opening,
        written.line,
        written.row,
        written.plan,
        time_guessed=bool(entry and entry.guessed),
    )


def _person(entry: Entry) -> Person:
    return Person(entry.name, entry.time_s, time_guessed=entry.guessed)


def _runner_count(up: LineUp, key: str, table: TeamTable, people: int) -> int:
    """As the team says, else as the field says; out of an entry list no more than are entered."""
    if up.entries is None:
        return table.runners or up.field.runners
    if table.runners is not None and table.runners > people > 0:
        allowed = f"the entry list has {people} for this team"
        up.problems.append(Problem(f"{key}.runners", f"{table.runners}", allowed))
    return _entered_count(up, key, table.runners or up.field.written_runners, people)


def _entered_count(up: LineUp, key: str, wanted: int | None, people: int) -> int:
    if wanted is None and people > MOST_RUNNERS:
        allowed = f"at most {MOST_RUNNERS} run; write how many as runners"
        up.problems.append(Problem(key, f"{people} entries", allowed))
    return max(1, min(wanted or MOST_RUNNERS, people))


def _time_problems(
    up: LineUp, key: str, table: TeamTable, entries: Sequence[Entry]
) -> list[Problem]:
    """With an entry list everybody's time must be known."""
    if not entries and not table.people:
        teams = list(dict.fromkeys(entry.team for entry in up.entries or ()))
        allowed = f"a team of {up.field.seed_times!r}"
        return [Problem(f"{key}.name", f"{table.name!r}", allowed, nearest_word(table.name, teams))]
    names = [entry.name for entry in entries]
    known = {same_name(name) for name in names}
    allowed = "a time here, or this name in the entry list"
    return [
        Problem(f"{key}.people.{p.name}.time", "missing", allowed, nearest_word(p.name, names))
        for p in table.people
        if p.time_s is None and same_name(p.name) not in known
    ]


def _add_others(up: LineUp, keyed: Sequence[tuple[str, TeamTable]]) -> None:
    """The teams that nobody wrote down: out of the entry list, or made up."""
    written = {same_name(team.name) for _, team in keyed}
    if keyed and up.field.teams is not None:
        allowed = "only without [[teams]]; fill = true fills the other boxes"
        up.problems.append(Problem("field.teams", f"{up.field.teams}", allowed))
        return
    names = _other_names(up, written)
    if keyed and up.entries is not None and not up.field.fill and names:
        up.problems.append(_unlisted(up, names, [team.name for _, team in keyed]))
        return
    _seat(up, names)
    if not up.teams and not up.problems:
        allowed = "[[teams]], or field.teams, field.fill or field.seed_times"
        up.problems.append(Problem("teams", "no team", allowed))


def _other_names(up: LineUp, written: set[str]) -> list[str]:
    if up.entries is not None:
        first = {same_name(entry.team): entry.team for entry in reversed(up.entries)}
        order = dict.fromkeys(same_name(entry.team) for entry in up.entries)
        return [first[team] for team in order if team not in written]
    count = up.field.teams or 0
    if up.field.fill:
        count = max(0, len(up.start.open_boxes) - len(up.teams))
    numbered = (f"Team {number}" for number in range(1, count + len(written) + 1))
    return [name for name in numbered if same_name(name) not in written][:count]


def _unlisted(up: LineUp, names: list[str], listed: list[str]) -> Problem:
    some = ", ".join(repr(name) for name in names[:3]) + (" ..." if len(names) > 3 else "")
    found = f"{len(names)} of its teams not under [[teams]]: {some}"
    near = next((near for name in names if (near := nearest_word(name, listed))), "")
    return Problem("field.seed_times", found, "list them, or write fill = true", near)


def _seat(up: LineUp, names: list[str]) -> None:
    """Give the other teams the boxes that are left, from left to right, or leave it to the draw."""
    taken = {team.box for team in up.teams}
    free = [box for box in up.start.open_boxes if box not in taken]
    unpinned = sum(team.box is None for team in up.teams)
    if len(names) + unpinned > len(free):
        found = f"{len(up.teams) + len(names)} teams"
        allowed = f"at most {len(up.start.open_boxes)} boxes are open"
        up.problems.append(Problem("field.teams" if up.field.teams else "teams", found, allowed))
        return
    for name, box in zip(names, free, strict=False):
        _add_other(up, name, box if up.start.draw == "list" else None)


def _add_other(up: LineUp, name: str, box: int | None) -> None:
    people = tuple(map(_person, up.entries_of(name)))
    runners = up.field.runners
    if up.entries is not None:
        runners = _entered_count(up, f"teams.{name}", up.field.written_runners, len(people))
    up.teams.append(Team(name=name, runners=runners, box=box, people=people[:runners]))
