"""Which team stands in which box? Reads a box sheet (CSV) and seats its teams.

The first line names the columns: box and team, in any order; others are ignored. A team's own `box` in
the scenario stands; teams of the sheet that nobody wrote down are added.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.runners.seed_times import Row, rows_of, shortened
from simrun.scenario.tables.schema import MOST_BOXES
from simrun.scenario.tables.values import same_name

COLUMNS = {"box": ("box", "gate", "pen"), "team": ("team", "school", "club")}


def parse_box_sheet(text: str, file: str) -> dict[str, int]:
    """The box of every team, by the team's name. Raises BadInput naming line and column.

    Check: tests/unit/scenario/test_box_sheet.py.
    """
    rows = list(rows_of(text.removeprefix("\ufeff"), file))
    if len(rows) < 2:
        found, allowed = "no boxes", "a line of column names, then a line a box"
        raise BadInput(Problem("box sheet", found, allowed, file=file))
    column = _columns(rows[0], file)
    seats: dict[str, int] = {}
    problems: list[Problem] = []
    for line, cells in rows[1:]:
        read = {name: cells[at] if at < len(cells) else "" for name, at in column.items()}
        wrong = _mistake(line, read, seats)
        if wrong:
            problems.append(wrong)
        else:
            seats[read["team"]] = int(read["box"])
    if problems:
        raise BadInput(problems).in_file(file)
    return seats


def _columns(head: Row, file: str) -> dict[str, int]:
    line, cells = head
    names = [cell.casefold() for cell in cells]
    column = {}
    for wanted, words in COLUMNS.items():
        found = [at for at, name in enumerate(names) if name in words]
        if len(found) != 1:
            near = nearest_word(wanted, names)
            problem = Problem(f"line {line}, column {wanted}", "missing", "columns box, team", near)
            raise BadInput(problem).in_file(file)
        column[wanted] = found[0]
    return column


def _mistake(line: int, read: Mapping[str, str], seats: Mapping[str, int]) -> Problem | None:
    box, team = read["box"], read["team"]
    known = {same_name(name): name for name in seats}
    if not (box.isascii() and box.isdecimal() and 1 <= int(box[:6]) <= MOST_BOXES):
        allowed = f"a whole number from 1 to {MOST_BOXES}"
        return Problem(f"line {line}, column box", repr(shortened(box)), allowed)
    if not team or not team.isprintable():
        return Problem(f"line {line}, column team", repr(shortened(team)), "the team's name")
    if int(box) in seats.values():
        return Problem(f"line {line}, column box", f"box {int(box)} again", "one team a box")
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
