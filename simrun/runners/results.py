"""What did last year's race bring? Reads a results list (CSV): finish times and splits.

The first line names the columns. `time` is the finish; place, name and team are known and not needed; every
other column whose cells are times is a split by that name. Empty, NT, DNF, DNS and DQ are nobody's time. A
spreadsheet makes 3:12 to "3:12:00": so read where every time of a column ends in ":00" after an hour or more.
Digits alone, such as 1620, are 16:20 or seconds: where a whole column may be either, it is asked.
Check: tests/unit/runners/test_results.py.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.base.list_columns import WORDS, in_races, known_words, reads_with, which_column
from simrun.base.list_rows import Row, plain_name, rows_of, shortened
from simrun.base.units import clock_text
from simrun.runners import seed_times
from simrun.runners.seed_time import PlainTimes
from simrun.runners.seed_times import MOST_ROWS

Array = NDArray[np.float64]

FINISH = ("time", "finish", "finish time", "result")
KNOWN = (
    *("place", "rank", "bib", "points", "pace", "gap", "grade"),
    *(word for meaning in ("name", "first", "last", "team", "race") for word in WORDS[meaning]),
)
NO_TIME = (*seed_times.NO_TIME, *seed_times.NOT_STARTING)
FEWEST_TOLD = 2
"""One time alone that ends in ":00" may be a full minute; of two or more, every one is not."""
LONGEST_S = 6 * 3600.0

_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):([0-5]\d(?:[.,]\d{1,3})?)", re.ASCII)
_SECONDS = re.compile(r"\d{1,5}(?:[.,]\d{1,3})?", re.ASCII)
_PLAIN_MINUTES = re.compile(r"(\d{1,2})([0-5]\d(?:[.,]\d{1,3})?)", re.ASCII)


@dataclass(frozen=True)
class Results:
    """M runners: finish times in seconds (M,), nan for none, and splits by column name."""

    time_s: Array
    splits: dict[str, Array]


def parse_results(
    text: str, file: str, races: Sequence[str] = (), plain: PlainTimes | None = None
) -> Results:
    """The times of a results list. Raises BadInput naming line and column.

    races: those of a list of several that count; names that the list does not have count where it has one.
    plain: what 1620 means; None: to be told from the list, and asked where it cannot be.
    """
    rows = list(rows_of(text, file, {*KNOWN, *FINISH, *known_words({})}))
    if not 2 <= len(rows) <= MOST_ROWS + 1:
        found = f"{max(0, len(rows) - 1)} runners"
        raise BadInput(Problem("results", found, f"1 to {MOST_ROWS}", file=file))
    names = [plain_name(cell) for cell in rows[0][1]]
    finish = [at for at, name in enumerate(names) if name in FINISH]
    if len(finish) != 1:
        raise BadInput(which_column("time", rows, finish, suits=reads_with(time_s))).in_file(file)
    rows = in_races(rows, races, {}, file)
    rows = _with_clocks(rows, finish[0], plain, file)
    splits = {}
    for at, name in enumerate(names):
        if at != finish[0] and name not in KNOWN and _is_split([c for _, c in rows[1:]], at):
            label = rows[0][1][at]
            splits[label] = _column_s(rows[1:], at, label, file)
    return Results(_column_s(rows[1:], finish[0], "time", file), splits)


def _with_clocks(rows: Sequence[Row], at: int, plain: PlainTimes | None, file: str) -> list[Row]:
    """The rows with digits alone of the finish as a clock writes them, where they mean minutes: "16:20"."""
    alone = [
        (line, cell)
        for line, cells in rows[1:]
        if at < len(cells) and _SECONDS.fullmatch(cell := cells[at].strip())
    ]
    minutes = [_PLAIN_MINUTES.fullmatch(cell) for _, cell in alone]
    if plain == "seconds" or not alone or (plain is None and None in minutes):
        return list(rows)
    if plain is None:
        raise BadInput(_either(*alone[0])).in_file(file)
    return [rows[0], *((line, _clocked(cells, at)) for line, cells in rows[1:])]


def _clocked(cells: list[str], at: int) -> list[str]:
    told = _PLAIN_MINUTES.fullmatch(cells[at].strip()) if at < len(cells) else None
    return cells if told is None else [*cells[:at], f"{told[1]}:{told[2]}", *cells[at + 1 :]]


def _either(line: int, text: str) -> Problem:
    """The one question: is 1620 16:20, or 27:00?"""
    minutes, seconds = _clocked([text], 0)[0], clock_text(time_s(text)).removesuffix(".0")
    allowed = f'write plain_times = "minutes" ({minutes}) or "seconds" ({seconds}) under [field]'
    return Problem(f"line {line}, column time", f"{text!r} may be {minutes} or {seconds}", allowed)


def _column_s(rows: Sequence[Row], at: int, name: str, file: str) -> Array:
    """The seconds of a column, (M,), nan for nobody's."""
    minutes = _minutes_taken_for_hours([cells[at] for _, cells in rows if at < len(cells)])
    told = [_told_s(line, name, cells, at, file, minutes) for line, cells in rows]
    return np.array(told)


def _minutes_taken_for_hours(cells: Sequence[str]) -> bool:
    """Did a spreadsheet take the minutes of this column for hours?"""
    clocks = [found for cell in cells if (found := _CLOCK.fullmatch(cell.strip()))]
    return len(clocks) >= FEWEST_TOLD and all(
        int(clock[1] or 0) > 0 and float(clock[3].replace(",", ".")) == 0 for clock in clocks
    )


def time_s(text: str) -> float:
    """The seconds of "3:12.5", "0:18:20" or "192"; nan for nobody's. Raises ValueError."""
    plain = text.strip().casefold()
    if plain in NO_TIME:
        return math.nan
    clock = _CLOCK.fullmatch(plain)
    if clock:
        hours, minutes, seconds = clock.groups()
        found = 3600.0 * int(hours or 0) + 60.0 * int(minutes) + float(seconds.replace(",", "."))
    elif _SECONDS.fullmatch(plain):
        found = float(plain.replace(",", "."))
    else:
        raise ValueError(text)
    if not 0 < found <= LONGEST_S:
        raise ValueError(text)
    return found


def _told_s(
    line: int, name: str, cells: list[str], at: int, file: str, minutes: bool = False
) -> float:
    text = cells[at] if at < len(cells) else ""
    if minutes and _CLOCK.fullmatch(text):
        text = text.rpartition(":")[0]
    try:
        return time_s(text)
    except ValueError:
        allowed = 'a time such as "18:20.5" or "3:12", or DNF'
        problem = Problem(
            f"line {line}, column {shortened(repr(name)[1:-1])}", repr(shortened(text)), allowed
        )
        raise BadInput(problem).in_file(file) from None


def _is_split(rows: list[list[str]], at: int) -> bool:
    """Does this column hold times? Its first cell that is not empty decides."""
    cells = [cells[at] for cells in rows if at < len(cells) and cells[at].strip()]
    return bool(cells) and bool(_CLOCK.fullmatch(cells[0].strip()))
