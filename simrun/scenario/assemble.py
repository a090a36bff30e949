"""A document and its attachments become a Day, or one BadInput with every mistake in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.course.strip import Strip
from simrun.runners.seed_times import Entry, parse_entries
from simrun.scenario.built_ground import (
    ground_of,
    line_on_strip_problems,
    line_problems,
    start_line,
    weathered,
)
from simrun.scenario.checks.ground_checks import course_problems, line_on_ground_problems
from simrun.scenario.checks.input_checks import told_twice
from simrun.scenario.checks.start_checks import (
    clock_problems,
    field_problems,
    start_problems,
    wave_problems,
)
from simrun.scenario.day import Day
from simrun.scenario.line_up import LineUp, line_up
from simrun.scenario.paper import BEHAVIOUR, Paper, read_tables
from simrun.scenario.plans import plan_problems
from simrun.scenario.tables.box_sheet import parse_box_sheet, seated
from simrun.scenario.tables.schema import ListColumns
from simrun.scenario.tables.schema_teams import MOST_RUNNERS, races_wanted

MOST_TOLD = 100
"""After so many mistakes the rest is only counted."""


def assemble(document: dict[str, Any], attachments: dict[str, str], file: str) -> Day:
    """Check everything and build the ground. Raises BadInput, one Problem a mistake.

    Every check that can be made is made: one mistake hides another only where the second cannot be
    seen without the first being mended.
    """
    seats, sheet_problems = seats_of(document, attachments)
    paper = read_tables(seated(document, seats) if seats else document, attachments)
    paper.problems += sheet_problems
    _check_tables(paper)
    _check_attached(paper, attachments)
    up = line_up(paper, _entries(paper, attachments))
    strip = _ground(paper, up, attachments)
    paper.problems += up.problems if up else []
    if sheet_problems:
        paper.problems = [problem for problem in paper.problems if not _lost_seat(problem)]
    refuse(paper.problems, file)
    assert paper.head is not None
    assert paper.clock is not None
    assert paper.start is not None
    assert paper.course is not None
    assert paper.field is not None
    assert up is not None
    assert strip is not None
    return Day(
        document=document,
        attachments=attachments,
        file=file,
        name=paper.head.name + _by_words(document),
        about=paper.head.about,
        invented=paper.head.invented,
        units=paper.head.units,
        clock=paper.clock,
        start=paper.start,
        course=paper.course,
        field=paper.field,
        inputs=paper.inputs,
        teams=tuple(up.teams),
        strip=strip,
        places=tuple(paper.places),
    )


def _by_words(document: Mapping[str, Any]) -> str:
    """What the name says where people go by a behaviour of one's own, so that every page says it."""
    return f", by {document[BEHAVIOUR]['word']}" if BEHAVIOUR in document else ""


def _lost_seat(problem: Problem) -> bool:
    """Does only a team's box lack? A box sheet that cannot be read may hold it."""
    return problem.key.endswith(".box") and problem.found == "missing"


def refuse(problems: list[Problem], file: str) -> None:
    """Raise BadInput when there is a problem; the same line is told once."""
    told = list(dict.fromkeys(problems))
    if len(told) > MOST_TOLD:
        rest = len(told) - MOST_TOLD
        more = Problem("and more", f"{rest} further mistakes", "mend these first")
        told = [*told[:MOST_TOLD], more]
    if told:
        raise BadInput(told).in_file(file)


def _check_tables(paper: Paper) -> None:
    if paper.clock:
        paper.problems += clock_problems(paper.clock)
    if paper.start:
        paper.problems += start_problems(paper.start)
    if paper.course:
        paper.problems += course_problems(paper.course)
    if paper.field:
        paper.problems += field_problems(paper.field)
        paper.problems += told_twice(paper.field, paper.inputs)
    if paper.start and paper.clock:
        paper.problems += wave_problems(paper.start, paper.clock)
    if paper.start and paper.course:
        paper.problems += line_on_ground_problems(paper.start, paper.course)


def _check_attached(paper: Paper, attachments: Mapping[str, str]) -> None:
    """Every file that is named must be at hand (a recording carries its own)."""
    names = {
        "course.drawn": paper.course.drawn if paper.course else None,
        "start.box_sheet": paper.start.box_sheet if paper.start else None,
        "field.seed_times": paper.field.seed_times if paper.field else None,
        "inputs.learnt": paper.inputs.learnt_file or None,
    }
    for key, name in names.items():
        if name is not None and name not in attachments:
            near = nearest_word(name, attachments)
            allowed = "a file that was read with the scenario"
            paper.problems.append(Problem(key, f"{name!r}", allowed, near))


def seats_of(
    document: Mapping[str, Any], attachments: Mapping[str, str]
) -> tuple[dict[str, int], list[Problem]]:
    """Who stands where by the box sheet, and what is wrong with it; nothing where there is none."""
    start = document.get("start")
    name = start.get("box_sheet") if isinstance(start, Mapping) else None
    if not isinstance(name, str) or name not in attachments:
        return {}, []
    try:
        columns, races = _settled(document)
        return parse_box_sheet(attachments[name], name, columns, races), []
    except BadInput as wrong:
        return {}, list(wrong.in_file(name).problems)


def _settled(document: Mapping[str, Any]) -> tuple[dict[str, str | int], tuple[str, ...]]:
    """Which columns of the box sheet and which race are settled? The seats are read before the tables are.

    What cannot stand there is told by the tables' own check.
    """
    start, field = document.get("start"), document.get("field")
    columns = start.get("columns", {}) if isinstance(start, Mapping) else {}
    race = field.get("race", ()) if isinstance(field, Mapping) else ()
    try:
        races = races_wanted(race) if race else ()
        return ListColumns.model_validate(columns).chosen, races
    except ValueError:
        return {}, ()


def _entries(paper: Paper, attachments: Mapping[str, str]) -> tuple[Entry, ...] | None:
    """The entry list's people; None where there is no list, or one that cannot be read."""
    name = paper.field.seed_times if paper.field else None
    if paper.field is None or name is None or name not in attachments:
        return None
    try:
        return parse_entries(attachments[name], name, paper.field.list_reading)
    except BadInput as wrong:
        paper.problems += wrong.in_file(name).problems
        return None


def _ground(paper: Paper, up: LineUp | None, attachments: Mapping[str, str]) -> Strip | None:
    """Build the course where line and course are right by themselves, whatever else is wrong."""
    wrong_ground = any(problem.key.startswith(("start", "course")) for problem in paper.problems)
    if paper.start is None or paper.course is None or wrong_ground:
        return None
    most = max((team.runners for team in up.teams), default=MOST_RUNNERS) if up else MOST_RUNNERS
    try:
        strip = weathered(ground_of(paper.start, paper.course, most, attachments), paper.course)
    except BadInput as wrong:
        paper.problems += wrong.problems
        return None
    paper.problems += line_on_strip_problems(paper.start, strip)
    if paper.start.aim_at:
        solved = paper.start.model_copy(update={"aim": start_line(paper.start, strip).spec.aim_m})
        paper.problems += line_on_ground_problems(solved, paper.course)
    if paper.field:
        teams = list(zip(paper.team_keys, paper.teams, strict=True))
        paper.problems += plan_problems(paper.field, teams, strip.length_m)
    if up:
        paper.problems += line_problems(paper.team_keys, up.teams, strip)
    return strip
