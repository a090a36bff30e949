"""Reading a scenario file: TOML in, a checked Scenario out."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from simrun.base.errors import BadInput, Problem, notice
from simrun.scenario.assemble import assemble, refuse
from simrun.scenario.changes.changes_behaviour import as_told
from simrun.scenario.changes.changes_people import with_race
from simrun.scenario.checks.doubts import doubts_of
from simrun.scenario.checks.place_checks import place_problems
from simrun.scenario.named_files import (
    LARGEST_SCENARIO_BYTES,
    file_words,
    read_attachment,
    read_text,
)
from simrun.scenario.paper import BEHAVIOUR
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_races import at_race, race_document, race_names
from simrun.scenario.tables.values import RefusedError, Text, shown

LONGEST_LINE = 10_000
WHERE = re.compile(r"\(at line (\d+), column (\d+)\)")
IN_ANOTHER = re.compile(r"teams\..+\.name")
"""The key at which a team is told that is not on the race's list."""

ATTACHED = (
    *(("course", "drawn"), ("field", "seed_times"), ("start", "box_sheet")),
    ("inputs", "learnt"),
)


def read(path: str | Path, race: str = "", *, tell_doubts: bool = True) -> Scenario:
    """What does this scenario file say? Checked, with its drawing and its entry list.

    race: which of the day's races, where it has several; empty: the one under [field], else the first. Raises
    BadInput with one Problem a mistake, whatever the file holds. What can hardly be is told, and read.
    Check: tests/journeys/test_bad_files.py, tests/unit/scenario/test_scenario_reader.py.
    """
    place = Path(path)
    day = read_as(read_text(place, LARGEST_SCENARIO_BYTES), place, race)
    for doubt in doubts_of(day.strip) if tell_doubts else ():
        notice(f"{file_words(place)}: {doubt}")
    return day


def read_as(text: str, place: Path, race: str = "") -> Scenario:
    """What would this text say if it stood at this path, among the files there? Raises BadInput."""
    whole = parse(text, file_words(place))
    if BEHAVIOUR in whole:
        allowed = "none in a file: it is handed in with --behaviour, or from Python"
        raise BadInput(Problem(BEHAVIOUR, "a table", allowed, "", file_words(place)))
    document = _one_race(whole, race, file_words(place))
    try:
        return as_told(_read_document(document, place))
    except BadInput as wrong:
        raise BadInput([at_race(problem, whole, race) for problem in wrong.problems]) from None


def _read_document(document: dict[str, Any], place: Path) -> Scenario:
    attachments, problems = _attachments(document, place.parent)
    if not problems:
        day = Scenario.assembled(document, attachments, file_words(place))
        # Only of a file: a study's change of the course need not mend what is said of its places.
        refuse(list(place_problems(day.places, day.strip)), day.file)
        return day
    _refuse_all(document, attachments, problems, file_words(place))
    raise AssertionError("a file that was refused was read")


def read_one(path: str | Path, race: str = "") -> Scenario:
    """The one race day that an answer is about: the race asked for, of the day or of its entry list.

    Where a day of several races is asked nothing, it is the one under [field], else the first that our team
    runs in, and which one is told. Raises BadInput. Check: tests/unit/scenario/test_races.py.
    """
    if race:
        return read_races(path, [race])[0][1]
    place = Path(path)
    whole = parse(read_text(place, LARGEST_SCENARIO_BYTES), file_words(place))
    names = _names(whole, place)
    field = whole.get("field")
    if len(names) < 2 or (isinstance(field, dict) and field.get("race")):
        return read(place)
    name = next((each for each in names if _runs_ours(place, each)), "")
    day, first = read(place, name), " that our team runs in" if name else ""
    others = ", ".join(each for each in names if each != (name or names[0]))
    notice(
        f"{file_words(place)}: a day of {len(names)} races; this is {name or names[0]}, the first{first}. "
        f"--race NAME takes another: {others}"
    )
    return day


def _runs_ours(place: Path, race: str) -> bool:
    """Does our team run in this race? Not where the list has it in others only. Raises BadInput."""
    try:
        return any(t.ours and t.people for t in read(place, race, tell_doubts=False).teams)
    except BadInput as wrong:
        if any(IN_ANOTHER.fullmatch(problem.key) for problem in wrong.problems):
            return False
        raise


def _names(whole: Mapping[str, Any], place: Path) -> list[str]:
    """The races of a day. Raises BadInput."""
    try:
        return race_names(whole)
    except BadInput as wrong:
        raise wrong.in_file(file_words(place)) from None


def read_races(path: str | Path, asked: Sequence[str] = ()) -> list[tuple[str, Scenario]]:
    """The race days of a file with the name of their race: those asked for, else all of them.

    A file of one race is one race day without a name; `asked` may then name races of its entry list. Raises
    BadInput.
    Check: tests/unit/scenario/test_races.py.
    """
    place = Path(path)
    whole = parse(read_text(place, LARGEST_SCENARIO_BYTES), file_words(place))
    if names := _names(whole, place):
        return [(race, read(path, race)) for race in asked or names]
    day = read(path)
    if asked and not day.field.race:
        found, allowed = f"{asked[0]!r}", "nothing: the race day has one race only"
        raise BadInput(Problem("--race", found, allowed, "", day.file))
    return [(race, with_race(day, race)) for race in asked] if asked else [("", day)]


def read_parts(text: str, attachments: Mapping[str, str], file: str) -> Scenario:
    """The scenario of a text that stands in no file yet, with the texts of the files it names. Raises
    BadInput."""
    return Scenario.assembled(_one_race(parse(text, file), "", file), dict(attachments), file)


def _one_race(document: dict[str, Any], race: str, file: str) -> dict[str, Any]:
    """The tables of one race of the day. Raises BadInput."""
    try:
        return race_document(document, race)
    except BadInput as wrong:
        raise wrong.in_file(file) from None


def _refuse_all(
    document: dict[str, Any], attachments: dict[str, str], problems: list[Problem], file: str
) -> None:
    """Tell the mistakes of the document together with those of the files it names."""
    named = {problem.key for problem in problems}
    try:
        assemble(document, attachments, file)
    except BadInput as wrong:
        problems = [*problems, *(p for p in wrong.problems if p.key not in named)]
    refuse(problems, file)


def parse(text: str, file: str) -> dict[str, Any]:
    """The tables of a TOML text. Raises BadInput naming the line."""
    if not text.strip():
        raise BadInput(Problem("file", "empty", "a scenario in TOML is wanted", "", file))
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            found, allowed = f"{len(line)} characters", f"at most {LONGEST_LINE} in a line"
            raise BadInput(Problem(f"line {number}", found, allowed, "", file))
    try:
        return tomllib.loads(text)
    except RecursionError:
        problem = Problem("file", "nested too deep", "tables and lists a few levels deep")
    except ValueError as wrong:
        problem = _toml_problem(text, str(wrong))
    raise BadInput(problem).in_file(file)


def _toml_problem(text: str, message: str) -> Problem:
    if "integer string conversion" in message:
        return Problem("file", "a number of thousands of digits", "numbers of a sane size")
    lines = text.split("\n")
    where = WHERE.search(message)
    number = int(where[1]) if where else len(lines)
    line = lines[number - 1].strip() if number <= len(lines) else ""
    found = f"{shown(line)} is not TOML" if line else "the text ends too early for TOML"
    return Problem(f"line {number}", found, _toml_advice(message, line))


def _toml_advice(message: str, line: str) -> str:
    twice = ("overwrite", "twice", "mutate", "redefine", "already")
    if any(word in message.lower() for word in twice):
        return "every key and every table once"
    if "=" not in line and not line.startswith("["):
        return "a line is key = value, [table] or [[list of tables]]"
    return 'write text in quotes, such as width = "60 m", and lists as [1, 2]'


def _attachments(document: Mapping[str, Any], folder: Path) -> tuple[dict[str, str], list[Problem]]:
    """The text of every file that the document names, and what was wrong with the others."""
    texts: dict[str, str] = {}
    problems: list[Problem] = []
    for table, key in ATTACHED:
        name = _named_file(document, table, key)
        if name is None:
            continue
        try:
            texts[name] = read_attachment(folder, name, a_list=key != "drawn")
        except BadInput as wrong:
            problems += [_at_key(problem, f"{table}.{key}", name) for problem in wrong.problems]
    return texts, problems


def _named_file(document: Mapping[str, Any], table: str, key: str) -> str | None:
    """The name written at a key, if it can be a file's name; else the check of the tables tells."""
    tables = document.get(table)
    name = tables.get(key) if isinstance(tables, dict) else None
    try:
        return Text(longest=200)(name)
    except RefusedError:
        return None


def _at_key(problem: Problem, key: str, name: str) -> Problem:
    found = f"{name!r}: {problem.found}"
    if problem.key != "file":
        found = f"{name!r}, {problem.key}: {problem.found}"
    return Problem(key, found, problem.allowed, problem.nearest)
