"""What did last year's race bring? Reads a results list (CSV): finish times and splits.

The first line names the columns. `time` is the finish; place, name and team are known and not needed; every
other column whose cells are times is a split by that name. Empty, DNF, DNS and DQ are nobody's time.
Check: tests/unit/runners/test_results.py.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.runners.seed_times import MOST_ROWS, rows_of, shortened

Array = NDArray[np.float64]

FINISH = ("time", "finish", "finish time", "result")
KNOWN = ("place", "rank", "name", "runner", "athlete", "team", "school", "club", "bib", "points")
NO_TIME = ("", "-", "dnf", "dns", "dq", "dsq")
LONGEST_S = 6 * 3600.0

_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):([0-5]\d(?:[.,]\d{1,3})?)", re.ASCII)
_SECONDS = re.compile(r"\d{1,5}(?:[.,]\d{1,3})?", re.ASCII)


@dataclass(frozen=True)
class Results:
    """M runners: finish times in seconds (M,), nan for none, and splits by column name."""

    time_s: Array
    splits: dict[str, Array]


def parse_results(text: str, file: str) -> Results:
    """The times of a results list. Raises BadInput naming line and column."""
    rows = list(rows_of(text.removeprefix("\ufeff"), file))
    if not 2 <= len(rows) <= MOST_ROWS + 1:
        found = f"{max(0, len(rows) - 1)} runners"
        raise BadInput(Problem("results", found, f"1 to {MOST_ROWS}", file=file))
    names = [cell.casefold().replace("_", " ") for cell in rows[0][1]]
    finish = [at for at, name in enumerate(names) if name in FINISH]
    if len(finish) != 1:
        near = nearest_word("time", names)
        problem = Problem(f"line {rows[0][0]}, column time", "missing", "one column of times", near)
        raise BadInput(problem).in_file(file)
    time_s = np.array([_told_s(line, "time", cells, finish[0], file) for line, cells in rows[1:]])
    splits = {}
    for at, name in enumerate(names):
        if at != finish[0] and name not in KNOWN and _is_split([c for _, c in rows[1:]], at):
            label = rows[0][1][at]
            values = [_told_s(line, label, cells, at, file) for line, cells in rows[1:]]
            splits[label] = np.array(values)
    return Results(time_s, splits)


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


def _told_s(line: int, name: str, cells: list[str], at: int, file: str) -> float:
    text = cells[at] if at < len(cells) else ""
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
