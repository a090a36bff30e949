"""The files that people have, brought beside a new scenario: an entry list, a box sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked
from simrun.base.decoding import decoded
from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.writing import written_together
from simrun.base.written_tables import table_text
from simrun.runners.seed_time import PlainTimes
from simrun.runners.seed_times import Reading, parse_entries
from simrun.scenario.named_files import LARGEST_ATTACHMENT_BYTES, file_words, read_bytes
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.box_sheet import parse_box_sheet
from simrun.scenario.tables.values import same_name

MOST_TEAMS_TOLD = 8


@dataclass(frozen=True)
class Papers:
    """What was brought: the bytes of the files by their names, who is ours, and what the scenario says of
    them.

    field, start: keys and values of those tables. highest_box: of the box sheet, 0 without one.
    """

    files: Mapping[str, bytes]
    field: Mapping[str, Any]
    start: Mapping[str, Any]
    team: str
    highest_box: int = 0


def papers_of(asked: Asked) -> Papers:
    """The files that were asked for with PAPERS, read as a scenario reads them. Raises BadInput."""
    return brought(asked.entries, asked.box_sheet, asked.race, asked.team, asked.plain_times)


def brought(
    entries: Path | None,
    box_sheet: Path | None,
    race: str = "",
    team: str = "",
    plain: PlainTimes | None = None,
) -> Papers:
    """An entry list and a box sheet beside the scenario, both read; which team is ours is asked where it
    is open.

    Raises BadInput. Check: tests/journeys/test_from_a_watch.py.
    """
    files: dict[str, bytes] = {}
    field: dict[str, Any] = {}
    start: dict[str, Any] = {}
    teams: list[str] = []
    races = (race,) if race else ()
    if entries:
        files[entries.name], text = _read(entries)
        found = parse_entries(text, file_words(entries), Reading(races=races, plain=plain))
        teams = list(dict.fromkeys(entry.team for entry in found))
        field = {"seed_times": entries.name} | ({"race": race} if race else {})
        field |= {"plain_times": plain} if plain else {}
    highest = 0
    if box_sheet:
        files[box_sheet.name], text = _read(box_sheet)
        seats = parse_box_sheet(text, file_words(box_sheet), None, races)
        start, highest = {"box_sheet": box_sheet.name}, max(seats.values())
        teams = teams or list(seats)
    if entries and box_sheet and entries.name == box_sheet.name and entries != box_sheet:
        raise BadInput(Problem("--box-sheet", "named as the entry list is", "another file name"))
    return Papers(files, field, start, _ours(team, teams), highest)


def people_tables(papers: Papers, box: int | None = None, remark: str = "") -> list[str]:
    """The field and our team: of the lists, else an invented field. remark: behind what nobody said."""
    field = dict(papers.field) or {"ability": "boys varsity 5 km"}
    unsure = {} if papers.field else {"ability": remark}
    boxed = {} if papers.start else {"box": box or 1}
    team = {"name": papers.team, **boxed, "ours": True}
    return [
        table_text("[field]", {**field, "fill": True}, unsure),
        table_text("[[teams]]", team, {} if box else {"box": remark}),
    ]


def refuse_overwriting(folder: Path, papers: Papers) -> None:
    """A list brought along takes no other file's place. Raises BadInput."""
    for name, data in papers.files.items():
        target = folder / name
        if target.exists() and not (target.is_file() and target.read_bytes() == data):
            allowed = "another folder, or move it away: nothing is overwritten"
            raise BadInput(
                Problem("file", "exists already, and is another", allowed, file=file_words(target))
            )


def write_day(
    folder: Path, files: Mapping[str, bytes], scenario: str
) -> tuple[Scenario, list[Path]]:
    """All files of a new race day; none is there before the scenario was read among them.

    Raises BadInput, CannotWrite.
    """
    with written_together(folder) as beside:
        for name, data in files.items():
            (beside / name).write_bytes(data)
        try:
            day = read(beside / scenario, tell_doubts=False)
        except BadInput as wrong:
            where, there = file_words(beside), file_words(folder)
            problems = [replace(p, file=p.file.replace(where, there)) for p in wrong.problems]
            raise BadInput(problems) from None
    others = sorted(name for name in files if name != scenario)
    named = replace(day, file=file_words(folder / scenario))
    return named, [folder / name for name in (*others, scenario)]


def _read(path: Path) -> tuple[bytes, str]:
    data = read_bytes(path, LARGEST_ATTACHMENT_BYTES)
    try:
        return data, decoded(data)
    except BadInput as wrong:
        raise wrong.in_file(file_words(path)) from None


def _ours(team: str, teams: list[str]) -> str:
    """The name of our team as the lists write it."""
    if not teams:
        return team or "Our team"
    known = {same_name(name): name for name in teams}
    if same_name(team) in known:
        return known[same_name(team)]
    told = ", ".join(teams[:MOST_TEAMS_TOLD]) + (", ..." if len(teams) > MOST_TEAMS_TOLD else "")
    found = f"{team!r}" if team else "which team is ours is not said"
    raise BadInput(Problem("--team", found, f"one of {told}", nearest_word(team, teams)))
