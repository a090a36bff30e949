"""Lists pasted from a spreadsheet: what was understood, what is asked, and the changes that keep them.

Read by the command line's own readers; where one of them asks a question, the page puts it with what can be
answered.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from simrun.base.errors import BadInput
from simrun.base.list_columns import columns_meaning, known_words
from simrun.base.list_rows import rows_of, shortened
from simrun.base.units import clock_text
from simrun.desk.day_view import problem_lines
from simrun.runners.seed_time import PlainTimes
from simrun.runners.seed_times import Entry, NoTime, Reading, parse_entries
from simrun.scenario.in_text.written_plan import ListsAsked
from simrun.scenario.tables.box_sheet import parse_box_sheet
from simrun.scenario.tables.values import same_name

SHOWN_ROWS, SHOWN_COLUMNS, MOST_RACES = 6, 12, 40
ENTRY_COLUMNS = ("name", "first", "last", "team", "time", "race")
BOX_COLUMNS = ("box", "team")
PASTED = "pasted list"


@dataclass(frozen=True)
class Settled:
    """What somebody answered: columns by meaning, from 1, the race, and the rest as in a scenario."""

    entry_columns: Mapping[str, int] = field(default_factory=dict)
    box_columns: Mapping[str, int] = field(default_factory=dict)
    race: str = ""
    no_time: str = ""
    plain_times: str = ""


def settled_of(asked: Mapping[str, Any]) -> Settled:
    """What the page sent along, as far as it is of the right kind."""

    def columns(key: str, meanings: tuple[str, ...]) -> dict[str, int]:
        given = asked.get(key)
        pairs = given.items() if isinstance(given, Mapping) else ()
        return {str(k): int(v) for k, v in pairs if k in meanings and isinstance(v, int) and v > 0}

    def word(key: str) -> str:
        given = asked.get(key)
        return given[:80] if isinstance(given, str) else ""

    return Settled(
        columns("entry_columns", ENTRY_COLUMNS),
        columns("box_columns", BOX_COLUMNS),
        word("race"),
        word("no_time"),
        word("plain_times"),
    )


def looked_at(entries: str, boxes: str, settled: Settled) -> dict[str, Any]:
    """What was understood of both lists, and what is open. Check: tests/unit/desk/test_pasted.py."""
    found: dict[str, Any] = {"entries": None, "boxes": None, "teams": []}
    listed: tuple[Entry, ...] = ()
    if entries.strip():
        found["entries"], listed = _entries(entries, settled)
    teams = list(dict.fromkeys(entry.team for entry in listed))
    if boxes.strip():
        found["boxes"], seats = _boxes(boxes, settled)
        known = {same_name(name) for name in teams}
        teams = teams or list(seats)
        found["unlisted"] = [name for name in seats if known and same_name(name) not in known]
        found["seats"] = seats
    found["teams"] = teams
    return found


def _entries(text: str, settled: Settled) -> tuple[dict[str, Any], tuple[Entry, ...]]:
    shown = _table(text, settled.entry_columns, ENTRY_COLUMNS)
    try:
        listed = parse_entries(text, PASTED, reading_of(settled))
    except BadInput as wrong:
        return shown | {"wrong": problem_lines(wrong), "races": _races(text, settled)}, ()
    untimed = [entry for entry in listed if entry.guessed]
    people = [
        {"name": e.name, "team": e.team, "time": clock_text(e.time_s), "guessed": e.guessed}
        for e in listed[:SHOWN_ROWS]
    ]
    told = {
        "runners": len(listed),
        "people": people,
        "untimed": len(untimed),
        "races": _races(text, settled),
    }
    return shown | told, listed


def _boxes(text: str, settled: Settled) -> tuple[dict[str, Any], dict[str, int]]:
    shown = _table(text, settled.box_columns, BOX_COLUMNS)
    races = (settled.race,) if settled.race else ()
    try:
        seats = parse_box_sheet(text, PASTED, settled.box_columns, races)
    except BadInput as wrong:
        return shown | {"wrong": problem_lines(wrong)}, {}
    return shown | {"seated": len(seats)}, seats


def reading_of(settled: Settled) -> Reading:
    """How the entry list is read."""
    no_time: NoTime = "leave out" if settled.no_time == "leave out" else "team"
    plain: PlainTimes | None = None
    if settled.plain_times in ("minutes", "seconds"):
        plain = settled.plain_times  # type: ignore[assignment]
    races = (settled.race,) if settled.race else ()
    return Reading(settled.entry_columns, races, no_time, plain)


def _table(text: str, chosen: Mapping[str, int], meanings: tuple[str, ...]) -> dict[str, Any]:
    """The head and the first rows, and which column was taken for what."""
    try:
        rows = list(rows_of(text, PASTED, known_words(chosen)))[: SHOWN_ROWS + 1]
    except BadInput as wrong:
        return {"head": [], "rows": [], "columns": {}, "wrong": problem_lines(wrong)}
    if not rows:
        return {"head": [], "rows": [], "columns": {}}
    head = rows[0][1]
    columns = {m: [at + 1 for at in columns_meaning(m, head, chosen)] for m in meanings}
    return {
        "head": [shortened(cell) for cell in head[:SHOWN_COLUMNS]],
        "rows": [[shortened(c) for c in cells[:SHOWN_COLUMNS]] for _, cells in rows[1:]],
        "columns": columns,
    }


def _races(text: str, settled: Settled) -> list[str]:
    """Which races stand in a column of races? Nothing where there is none."""
    try:
        rows = list(rows_of(text, PASTED, known_words(settled.entry_columns)))
    except BadInput:  # told already, with the table
        return []
    if not rows:
        return []
    found: dict[str, None] = {}
    for at in columns_meaning("race", rows[0][1], settled.entry_columns):
        for _, cells in rows[1:]:
            if at < len(cells) and cells[at]:
                found[cells[at]] = None
    return list(found)[:MOST_RACES]


def lists_asked(settled: Settled, ours: str, names: tuple[str | None, str | None]) -> ListsAsked:
    """What is to be written into the scenario. names: of the entry list's file and the box sheet's."""
    return ListsAsked(
        ours=ours,
        entries=names[0],
        box_sheet=names[1],
        race=settled.race,
        no_time=settled.no_time,
        plain_times=settled.plain_times,
        entry_columns=settled.entry_columns,
        box_columns=settled.box_columns,
    )
