"""Who has entered, for which team, and with which 5 km time? Reads an entry list (CSV).

The first line names the columns: name, team, time (or seed), in any order and case; others are
ignored. Commas, semicolons or tabs separate them. A time is minutes and seconds, or seconds.
Every mistake is reported at once, one line each. Check: tests/unit/runners/test_runners_seed_times.py.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.runners.seed_time import ALLOWED_TIME, seed_time_s

LARGEST_BYTES = 5_000_000
MOST_ROWS = 3000
LONGEST_TEXT = 80
MOST_PROBLEMS = 20

_COLUMNS = {
    "name": ("name", "runner", "athlete"),
    "team": ("team", "school", "club"),
    "time": ("time", "seed", "seed time"),
}

_SPACE_AFTER_QUOTE = re.compile(r'"[ ]+(?=[,;\t\r\n])')

Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Entry:
    """One runner of an entry list: name, team, and 5 km time in seconds."""

    name: str
    team: str
    time_s: float


def read_entries(path: Path | str) -> tuple[Entry, ...]:
    """The runners of the entry list at `path`. Raises BadInput, also where it cannot be read."""
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInput(_too_large(path.name))
        data = path.read_bytes()
    except OSError as error:
        found = f"cannot be read ({error.strerror})"
        raise BadInput(Problem("entry list", found, "a CSV file", file=path.name)) from error
    return parse_entries(decode_entries(data, path.name), path.name)


def decode_entries(data: bytes, file: str) -> str:
    """The text of an entry list. Raises BadInput unless it is UTF-8 of at most 5 MB."""
    if len(data) > LARGEST_BYTES:
        raise BadInput(_too_large(file))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"not UTF-8 (byte {data[error.start]:#04x})"
        raise BadInput(Problem(f"line {line}", found, "text saved as UTF-8", file=file)) from error


def parse_entries(text: str, file: str) -> tuple[Entry, ...]:
    """The runners of an entry list, in its order. Raises BadInput naming file, line and column."""
    if len(text) > LARGEST_BYTES:
        raise BadInput(_too_large(file))
    rows = list(rows_of(text.removeprefix("\ufeff"), file))
    if not rows:
        raise BadInput(Problem("entry list", "empty", "a line of column names", file=file))
    if len(rows) - 1 > MOST_ROWS:
        found = f"{len(rows) - 1} runners"
        raise BadInput(Problem("entry list", found, f"at most {MOST_ROWS}", file=file))
    return _entries(rows, file)


def rows_of(text: str, file: str) -> Iterator[Row]:
    """Every line that is not blank, with the number of the line it ends on."""
    head = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(",;\t", key=head.count)
    tidy = _SPACE_AFTER_QUOTE.sub('"', text)
    reader = csv.reader(
        io.StringIO(tidy, newline=""), delimiter=delimiter, skipinitialspace=True, strict=True
    )
    line = 0
    try:
        for cells in reader:
            line = reader.line_num
            if any(cell.strip() for cell in cells):
                yield line, [" ".join(cell.split()) for cell in cells]
    except csv.Error as error:
        found = "cannot be read as columns"
        raise BadInput(
            Problem(f"line {line + 1}", found, "quotation marks in pairs", file=file)
        ) from error


def _entries(rows: list[Row], file: str) -> tuple[Entry, ...]:
    column = _columns(rows[0], file)
    entries: list[Entry] = []
    problems: list[Problem] = []
    lines: dict[tuple[str, str], int] = {}
    for line, cells in rows[1:]:
        read = {name: cells[at] if at < len(cells) else "" for name, at in column.items()}
        wrong = [
            *_mistakes(line, read),
            *_repeated(line, read, lines),
            *_surplus(line, cells, len(rows[0][1])),
        ]
        problems += wrong
        if not wrong:
            entries.append(Entry(read["name"], read["team"], seed_time_s(read["time"])))
    if not problems and not entries:
        problems = [Problem("entry list", "no runners", "a line for every runner")]
    if problems:
        raise BadInput(_first(problems)).in_file(file)
    return tuple(entries)


def _columns(head: Row, file: str) -> dict[str, int]:
    """At which position does each of our columns stand?"""
    line, cells = head
    names = [cell.casefold().replace("_", " ") for cell in cells]
    problems, column = [], {}
    for wanted, words in _COLUMNS.items():
        found = [at for at, name in enumerate(names) if name in words]
        if len(found) == 1:
            column[wanted] = found[0]
        else:
            problems.append(_missing_column(line, wanted, names, found))
    if problems:
        raise BadInput(problems).in_file(file)
    return column


def _missing_column(line: int, wanted: str, names: list[str], found: list[int]) -> Problem:
    key = f"line {line}, column {wanted}"
    if found:
        which = ", ".join(repr(names[at]) for at in found)
        return Problem(key, f"more than one: {which}", "one column of name, team and time each")
    near = nearest_word(wanted, names)
    listed = ", ".join(repr(shortened(name)) for name in names[:8])
    found_instead = f"missing, but there is {near!r}" if near else f"missing among {listed}"
    return Problem(key, found_instead, "columns name, team, time", wanted if near else "")


def _mistakes(line: int, read: Mapping[str, str]) -> list[Problem]:
    problems = []
    for column in ("name", "team"):
        text = read[column]
        if not text or len(text) > LONGEST_TEXT or not text.isprintable():
            allowed = f"1 to {LONGEST_TEXT} printable letters"
            problems.append(_problem(line, column, text, allowed))
    try:
        seed_time_s(read["time"])
    except ValueError:
        problems.append(_problem(line, "time", read["time"], ALLOWED_TIME))
    return problems


def _repeated(
    line: int, read: Mapping[str, str], lines: dict[tuple[str, str], int]
) -> list[Problem]:
    who = (read["team"].casefold(), read["name"].casefold())
    first = lines.setdefault(who, line)
    if first == line or not read["name"]:
        return []
    found = f"{shortened(read['name'])!r} again (first on line {first})"
    return [Problem(f"line {line}, column name", found, "every name once in a team")]


def _surplus(line: int, cells: list[str], columns: int) -> list[Problem]:
    """A decimal comma in a list kept apart by commas would otherwise lose its tenths in silence."""
    if not any(cells[columns:]):
        return []
    found = f"{len(cells)} cells, beginning with {shortened(cells[0])!r}"
    return [Problem(f"line {line}", found, f"{columns} cells, as many as there are columns")]


def _problem(line: int, column: str, text: str, allowed: str) -> Problem:
    return Problem(
        f"line {line}, column {column}", repr(shortened(text)) if text else "empty", allowed
    )


def _first(problems: list[Problem]) -> list[Problem]:
    """The first problems, and how many more there are."""
    more = len(problems) - MOST_PROBLEMS
    if more <= 0:
        return problems
    rest = Problem("entry list", f"{more} more mistakes", "these first")
    return [*problems[:MOST_PROBLEMS], rest]


def shortened(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


def _too_large(file: str) -> Problem:
    megabytes = LARGEST_BYTES // 1_000_000
    return Problem("entry list", "too large", f"at most {megabytes} MB", file=file)
