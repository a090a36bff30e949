"""Which team stands in which box? Reads a box sheet (CSV) and seats its teams.

Boxes and teams stand in columns in any order; others are ignored, and so is a box without a team. A team's
own `box` in the scenario stands; teams of the sheet that nobody wrote down are added.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from typing import Any

from simrun.base.errors import BadInput, Problem
from simrun.base.list_columns import (
    Columns,
    columns_meaning,
    in_races,
    known_words,
    which_column,
)
from simrun.base.list_rows import Row, rows_of, shortened
from simrun.scenario.tables.schema import MOST_BOXES
from simrun.scenario.tables.values import same_name

NOBODY = ("", "-", "empty", "open")
_NUMBER = re.compile(r"(?:box )?#?([0-9]{1,6})(?:[.]0*)?", re.IGNORECASE)


def parse_box_sheet(
    text: str, file: str, columns: Columns | None = None, races: Sequence[str] = ()
) -> dict[str, int]:
    """The box of every team, by the team's name. Raises BadInput naming line and column.

    Check: tests/unit/scenario/test_box_sheet.py.
    """
    chosen = columns or {}
    rows = list(rows_of(text, file, known_words(chosen)))
    if len(rows) < 2:
        raise BadInput(_no_boxes()).in_file(file)
    column = _columns(rows, chosen, file)
    seats: dict[str, int] = {}
    problems: list[Problem] = []
    for line, cells in in_races(rows, races, chosen, file)[1:]:
        read = {name: cells[at] if at < len(cells) else "" for name, at in column.items()}
        if read["team"].casefold() in NOBODY:
            continue
        wrong = _mistake(line, read, seats)
        if wrong:
            problems.append(wrong)
        else:
            seats[read["team"]] = _box(read["box"])
    if not seats and not problems:
        problems.append(_no_boxes())
    if problems:
        raise BadInput(problems).in_file(file)
    return seats


def _no_boxes() -> Problem:
    allowed = "a line of column names, then a line a box with its team"
    return Problem("box sheet", "no boxes", allowed)


def _box(text: str) -> int:
    """The number of a box written as "7", "7.0", "Box 7" or "#7"; 0 for anything else."""
    found = _NUMBER.fullmatch(text)
    return int(found[1]) if found else 0


def _columns(rows: list[Row], chosen: Columns, file: str) -> dict[str, int]:
    column = {}
    for wanted in ("box", "team"):
        found = columns_meaning(wanted, rows[0][1], chosen)
        if len(found) != 1:
            suits = _is_box if wanted == "box" else str.isprintable
            raise BadInput(which_column(wanted, rows, found, "start", suits)).in_file(file)
        column[wanted] = found[0]
    return column


def _is_box(cell: str) -> bool:
    return 1 <= _box(cell) <= MOST_BOXES


def _mistake(line: int, read: Mapping[str, str], seats: Mapping[str, int]) -> Problem | None:
    box, team = read["box"], read["team"]
    known = {same_name(name): name for name in seats}
    if not _is_box(box):
        allowed = f"a whole number from 1 to {MOST_BOXES}"
        return Problem(f"line {line}, column box", repr(shortened(box)), allowed)
    if not team.isprintable():
        return Problem(f"line {line}, column team", repr(shortened(team)), "the team's name")
    if _box(box) in seats.values():
        return Problem(f"line {line}, column box", f"box {_box(box)} again", "one team a box")
    if same_name(team) in known:
        found = f"{shortened(team)!r} again"
        return Problem(f"line {line}, column team", found, "every team once")
    return None


def seated(document: dict[str, Any], seats: Mapping[str, int]) -> dict[str, Any]:
    """The same tables with every team of the sheet in its box."""
    result = copy.deepcopy(document)
    teams = result.setdefault("teams", [])
    if not isinstance(teams, list):
        return document
    written = {same_name(str(t.get("name", ""))): t for t in teams if isinstance(t, dict)}
    for name, box in _in_order(document, seats):
        if same_name(name) in written:
            written[same_name(name)].setdefault("box", box)
        else:
            teams.append({"name": name, "box": box})
    return result


def _in_order(document: dict[str, Any], seats: Mapping[str, int]) -> list[tuple[str, int]]:
    """The sheet's teams as they stand there; by name where the draw is drawn again.

    People are drawn in the order of the teams: another draw on paper must not make them others.
    """
    start = document.get("start")
    again = isinstance(start, Mapping) and start.get("draw") == "again"
    return sorted(seats.items(), key=lambda seat: same_name(seat[0])) if again else [*seats.items()]
