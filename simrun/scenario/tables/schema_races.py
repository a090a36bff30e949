"""Several races of one day on the same ground and line: what each changes, and one of them as a day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationError

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.scenario.tables.schema import Name, Table
from simrun.scenario.tables.schema_teams import MOST_RACES, races_wanted
from simrun.scenario.tables.values import LONGEST_NAME, Many, RefusedError, same_name, shown
from simrun.scenario.tables.wording import entry_words, problems_of

CHANGED = ("field", "start")
"""The tables that a race may change."""


def changes_wanted(value: object) -> dict[str, Any]:
    """Keys of another table, on one line; what they may be is checked once they stand there."""
    if not isinstance(value, dict):
        raise RefusedError(shown(value), "keys of that table on one line, in curly brackets")
    return value


Changes = Annotated[dict[str, Any], BeforeValidator(changes_wanted)]


class RaceTable(Table):
    """One race of several on the same ground: its name, its part of the entry list, what it changes.

    lists: the races of the entry list that run in it; without it the one of its own name. field, start: keys
    that stand in for those of [field] and [start] in this race.
    """

    name: Name = Field(description="what the race is called")
    lists: Annotated[tuple[str, ...], BeforeValidator(races_wanted)] = ()
    field: Changes = {}  # noqa: RUF012
    start: Changes = {}  # noqa: RUF012


def race_names(document: Mapping[str, Any]) -> list[str]:
    """What the races of a day are called, in order; empty where it is one race. Raises BadInput."""
    return [race.name for race in _races(document)]


def race_document(document: dict[str, Any], wanted: str = "") -> dict[str, Any]:
    """The tables of one race of the day: the wanted one, else the one under [field], else the first.

    A day of one race stays as it is. Raises BadInput where no race of that name is.
    Check: tests/unit/scenario/test_races.py.
    """
    race = _chosen(document, wanted)
    if race is None:
        return document
    rest = {key: value for key, value in document.items() if key != "races"}
    for table in CHANGED:
        common = rest.get(table, {})
        if isinstance(common, dict):
            rest[table] = {**common, **getattr(race, table)}
    if isinstance(rest["field"], dict):
        rest["field"].pop("race", None)
        if "seed_times" in rest["field"]:
            rest["field"]["race"] = list(race.lists or (race.name,))
    if isinstance(name := rest.get("name"), str):
        rest["name"] = f"{name}: {race.name}"
    return rest


def keys_of_race(
    document: Mapping[str, Any], wanted: str, changes: Sequence[tuple[tuple[str | int, ...], Any]]
) -> list[tuple[tuple[str | int, ...], Any]]:
    """The same changes at the race's own keys where it is the race that says so, else where they were.

    Which part of the entry list runs is always said by the race itself.
    Check: tests/unit/scenario/test_races.py.
    """
    race = _chosen(document, wanted)
    if race is None:
        return list(changes)
    told: list[tuple[tuple[str | int, ...], Any]] = []
    for path, value in changes:
        if path == ("field", "race"):
            told.append((("races", race.name, "lists"), None if value is None else [value]))
        elif len(path) > 1 and path[0] in CHANGED and path[1] in getattr(race, str(path[0])):
            told.append((("races", race.name, *path), value))
        else:
            told.append((path, value))
    return told


def named_races(
    document: Mapping[str, Any], names: Sequence[str]
) -> list[tuple[tuple[str | int, ...], Any]]:
    """The changes after which the day has these races: who is there already stays as told."""
    wanted, there = [name.strip() for name in names if name.strip()], race_names(document)
    if not wanted:
        return [(("races",), None)] if there else []
    gone = [(("races", name), None) for name in there if name not in wanted]
    kept = len(there) - len(gone)
    new = [name for name in wanted if name not in there]
    added = [(("races", kept + i), {"name": name}) for i, name in enumerate(new, start=1)]
    return [*gone, *added]


def at_race(problem: Problem, document: Mapping[str, Any], wanted: str) -> Problem:
    """The same problem, told at the race's own key where it is the race that says so."""
    race = _chosen(document, wanted)
    table, _, key = problem.key.partition(".")
    if race is None or table not in CHANGED or key.split(".")[0] not in getattr(race, table):
        return problem
    where = f"races.{race.name}.{problem.key}"
    return Problem(where, problem.found, problem.allowed, problem.nearest, problem.file)


def _chosen(document: Mapping[str, Any], wanted: str) -> RaceTable | None:
    """The race that is meant; None on a day of one race. Raises BadInput."""
    races = _races(document)
    if not races:
        return None
    written = document.get("field", {})
    told = wanted or (written.get("race") if isinstance(written, dict) else None) or races[0].name
    return _named(races, told)


def _races(document: Mapping[str, Any]) -> list[RaceTable]:
    try:
        entries = Many(MOST_RACES, "races, each written as [[races]]")(document.get("races", []))
    except RefusedError as wrong:
        raise BadInput(Problem("races", wrong.found, wrong.allowed)) from None
    races, problems = [], []
    for index, entry in enumerate(entries):
        key = f"races.{entry_words(entries, index)}"
        try:
            races.append(RaceTable.model_validate(entry))
        except ValidationError as error:
            problems += problems_of(error, RaceTable, entry, key)
    names = [same_name(race.name) for race in races]
    twice = next((race.name for race in races if names.count(same_name(race.name)) > 1), None)
    if twice is not None:
        problems.append(Problem("races", f"{twice!r} twice", "every race once"))
    if problems:
        raise BadInput(problems)
    return races


def _named(races: list[RaceTable], wanted: object) -> RaceTable:
    found = [race for race in races if same_name(race.name) == same_name(str(wanted))]
    if not found:
        names = [race.name for race in races]
        near = nearest_word(str(wanted)[:LONGEST_NAME], names)
        allowed = "a race of the day: " + ", ".join(names)
        raise BadInput(Problem("race", repr(str(wanted)[:LONGEST_NAME]), allowed, near))
    return found[0]
