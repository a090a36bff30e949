"""The file's tables, each checked by itself, so that one bad table hides no mistake in another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as made
from typing import Any, TypeVar

from pydantic import ValidationError

from simrun.base.errors import Problem, nearest_word
from simrun.scenario.tables.schema import (
    MOST_BOXES,
    BehaviourTable,
    ClockTable,
    CourseTable,
    HeadTable,
    StartTable,
    Table,
)
from simrun.scenario.tables.schema_inputs import Inputs, read_inputs
from simrun.scenario.tables.schema_places import MOST_PLACES, PlaceTable
from simrun.scenario.tables.schema_teams import FieldTable, TeamTable
from simrun.scenario.tables.values import LONGEST_NAME, Many, RefusedError, shown_key
from simrun.scenario.tables.wording import entry_words, keys_of, problems_of

T = TypeVar("T", bound=Table)

TABLES = ("clock", "start", "course", "field", "inputs", "teams", "places")

BEHAVIOUR = "behaviour"
"""A table that no file may hold: see `reader`."""


@dataclass
class Paper:
    """What is written, as far as it can be read: a table is None while it holds a mistake.

    team_keys: what every readable team is called in a Problem's key. seated: key and table of every
    team of which at least name and box can be read. all_teams_read: whether no team was left out.
    """

    head: HeadTable | None = None
    clock: ClockTable | None = None
    start: StartTable | None = None
    course: CourseTable | None = None
    field: FieldTable | None = None
    inputs: Inputs = made(default_factory=Inputs)
    teams: list[TeamTable] = made(default_factory=list)
    team_keys: list[str] = made(default_factory=list)
    seated: list[tuple[str, TeamTable]] = made(default_factory=list)
    all_teams_read: bool = True
    places: list[PlaceTable] = made(default_factory=list)
    problems: list[Problem] = made(default_factory=list)


def read_tables(document: Mapping[str, Any], attachments: Mapping[str, str]) -> Paper:
    """Check every table of a document by itself. attachments: texts of the files it names."""
    paper = Paper()
    paper.problems += _unknown_tables(document)
    head = {key: document[key] for key in keys_of(HeadTable) if key in document}
    paper.head = _table(paper, HeadTable, head, "")
    paper.clock = _table(paper, ClockTable, document.get("clock", {}), "clock")
    paper.start = _needed(paper, StartTable, document, "start")
    paper.course = _needed(paper, CourseTable, document, "course")
    paper.field = _table(paper, FieldTable, document.get("field", {}), "field")
    paper.inputs, problems = read_inputs(document.get("inputs", {}), attachments)
    paper.problems += problems
    if BEHAVIOUR in document:
        _table(paper, BehaviourTable, document[BEHAVIOUR], BEHAVIOUR)
    _read_teams(paper, document.get("teams", []))
    _read_places(paper, document.get("places", []))
    return paper


def _unknown_tables(document: Mapping[str, Any]) -> list[Problem]:
    known = [*keys_of(HeadTable), *TABLES, "races"]
    unknown = [key for key in document if key not in (*known, BEHAVIOUR)]
    allowed = "allowed here: " + ", ".join(known)
    return [
        Problem(shown_key(key), "unknown key", allowed, nearest_word(key[:LONGEST_NAME], known))
        for key in unknown
    ]


def _needed(paper: Paper, model: type[T], document: Mapping[str, Any], key: str) -> T | None:
    if key in document:
        return _table(paper, model, document[key], key)
    misspelt = any(problem.nearest == key for problem in paper.problems)
    if not misspelt:
        paper.problems.append(Problem(key, "missing", f"a table [{key}] is needed"))
    return None


def _table(paper: Paper, model: type[T], written: object, key: str) -> T | None:
    try:
        return model.model_validate(written)
    except ValidationError as error:
        paper.problems += problems_of(error, model, written, key)
        return None


def _read_teams(paper: Paper, written: object) -> None:
    try:
        entries = Many(MOST_BOXES, "teams, each written as [[teams]]")(written)
    except RefusedError as wrong:
        paper.problems.append(Problem("teams", wrong.found, wrong.allowed))
        paper.all_teams_read = False
        return
    for index, entry in enumerate(entries):
        key = f"teams.{entry_words(entries, index)}"
        team = _table(paper, TeamTable, entry, key)
        paper.all_teams_read &= team is not None
        if team is not None:
            paper.teams.append(team)
            paper.team_keys.append(key)
        if seated := team or _seat_of(entry):
            paper.seated.append((key, seated))


def _read_places(paper: Paper, written: object) -> None:
    try:
        entries = Many(MOST_PLACES, "places, each written as [[places]]")(written)
    except RefusedError as wrong:
        paper.problems.append(Problem("places", wrong.found, wrong.allowed))
        return
    for number, entry in enumerate(entries, start=1):
        place = _table(paper, PlaceTable, entry, f"places.{number}")
        paper.places += [place] if place is not None else []


def _seat_of(written: object) -> TeamTable | None:
    """Name and box of a team that holds a mistake elsewhere, so that its box counts as taken."""
    if not isinstance(written, Mapping) or "box" not in written:
        return None
    part = {key: written[key] for key in ("name", "box", "ours") if key in written}
    try:
        return TeamTable.model_validate(part)
    except ValidationError:
        return None
