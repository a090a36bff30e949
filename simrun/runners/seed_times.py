"""Who has entered, for which team, and with which 5 km time? Reads an entry list (CSV).

Names, teams and times stand in columns in any order, a name in one column or in two; others are ignored.
Who has no time (blank, NT) runs at the middle time of their team, or as `no_time` says; who does not start
is left out. Every mistake is reported at once, one line each.
Check: tests/unit/runners/test_runners_seed_times.py,
tests/unit/runners/test_lists_as_people_have_them.py.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from statistics import median
from typing import Literal

from simrun.base.errors import BadInput, Problem
from simrun.base.list_columns import (
    MOST_LISTED,
    WORDS,
    Columns,
    columns_meaning,
    in_races,
    known_words,
    plain_name,
    reads_with,
    which_column,
)
from simrun.base.list_rows import Row, rows_of, shortened
from simrun.base.units import clock_text
from simrun.runners.seed_time import (
    ALLOWED_TIME,
    PlainTimes,
    nearest_time,
    plain_times,
    seed_time_s,
)

LARGEST_BYTES = 5_000_000
MOST_ROWS = 3000
LONGEST_TEXT = 80
MOST_PROBLEMS = 20

NO_TIME = ("", "-", "--", "nt", "nm", "na", "n/a", "none", "no time", "dnf", "dq", "dsq")
NOT_STARTING = ("dns", "scr", "scratch", "scratched", "withdrawn")

NoTimeWord = Literal["team", "leave out"]
NoTime = float | NoTimeWord


@dataclass(frozen=True)
class Entry:
    """One runner of an entry list: name, team, 5 km time in seconds; was that time put in for none?"""

    name: str
    team: str
    time_s: float
    guessed: bool = False


@dataclass(frozen=True)
class Reading:
    """What somebody settled where a list leaves it open: which column is which, the races, who has no time.

    no_time: "team" (the middle time of their team), "leave out", or seconds. plain: what 1620 means,
    None where nobody said. apart: races whose teams are squads of their own, named "team race".
    """

    columns: Columns = field(default_factory=dict)
    races: tuple[str, ...] = ()
    no_time: NoTime = "team"
    plain: PlainTimes | None = None
    apart: tuple[str, ...] = ()


AS_IT_IS = Reading()


def parse_entries(text: str, file: str, reading: Reading = AS_IT_IS) -> tuple[Entry, ...]:
    """The runners of an entry list, in its order. Raises BadInput naming file, line and column."""
    if len(text) > LARGEST_BYTES:
        raise BadInput(_too_large(file))
    rows = list(rows_of(text, file, known_words(reading.columns)))
    if not rows:
        raise BadInput(Problem("entry list", "empty", "a line of column names", file=file))
    if len(rows) - 1 > MOST_ROWS:
        found = f"{len(rows) - 1} runners"
        raise BadInput(Problem("entry list", found, f"at most {MOST_ROWS}", file=file))
    column = _columns(rows, reading.columns, file)
    return _with_times(_entries(rows, column, reading, file), reading, file)


def _entries(
    rows: list[Row], column: dict[str, tuple[int, ...]], reading: Reading, file: str
) -> list[Entry]:
    """Everybody who starts; the time is nan where there is none."""
    entries: list[Entry] = []
    problems: list[Problem] = []
    chosen = in_races(rows, reading.races, reading.columns, file)[1:]
    plain = reading.plain or _plain_times(chosen, column["time"], file)
    lines: dict[tuple[str, str], int] = {}
    race_columns, apart = columns_meaning("race", rows[0][1], reading.columns), set(reading.apart)
    for line, cells in chosen:
        read = {name: _cells_at(cells, at) for name, at in column.items()}
        read["team"] += _squad(cells, race_columns, apart)
        if read["time"].casefold() in NOT_STARTING:
            continue
        wrong = [
            *_mistakes(line, read, plain),
            *_repeated(line, read, lines),
            *_surplus(line, cells, len(rows[0][1])),
        ]
        problems += wrong
        if not wrong:
            entries.append(Entry(read["name"], read["team"], _time_s(read["time"], plain)))
    if not problems and not entries:
        problems = [Problem("entry list", "no runners", "a line for every runner")]
    if problems:
        raise BadInput(_first(problems)).in_file(file)
    return entries


def _squad(cells: list[str], race_columns: Sequence[int], apart: set[str]) -> str:
    """What is added to a team's name where its race has squads of its own: " JV girls"; else nothing."""
    known = {plain_name(race) for race in apart}
    found = (cells[at] for at in race_columns if at < len(cells) and plain_name(cells[at]) in known)
    return "".join(f" {race}" for race in list(found)[:1])


def _cells_at(cells: list[str], positions: Sequence[int]) -> str:
    """What stands in one column, or in first and last name together."""
    return " ".join(cells[at] for at in positions if at < len(cells) and cells[at])


def _plain_times(lines: Sequence[Row], at: Sequence[int], file: str) -> PlainTimes:
    """What do the digits alone of the times mean? Raises BadInput, one line, where both readings are
    likely."""
    times = [_cells_at(cells, at) for _, cells in lines]
    meanings, open_ = plain_times(times)
    if len(meanings) < 2 or not open_:
        return meanings[0] if len(meanings) == 1 else "seconds"
    line = lines[times.index(open_)][0]
    minutes, seconds = (_shown_time(open_, meaning) for meaning in meanings)
    allowed = f'write plain_times = "minutes" ({minutes}) or "seconds" ({seconds}) under [field]'
    found = f"{open_!r} may be {minutes} or {seconds}"
    raise BadInput(Problem(f"line {line}, column time", found, allowed, file=file))


def _shown_time(text: str, plain: PlainTimes) -> str:
    return clock_text(seed_time_s(text, plain)).removesuffix(".0")


def _time_s(text: str, plain: PlainTimes = "seconds") -> float:
    return math.nan if text.casefold() in NO_TIME else seed_time_s(text, plain)


def _with_times(entries: list[Entry], reading: Reading, file: str) -> tuple[Entry, ...]:
    """The same people, those without a time as `no_time` says.

    Of a runner without a time only the team is known: its middle time, or the list's where it has none.
    """
    timed = [entry for entry in entries if not math.isnan(entry.time_s)]
    if isinstance(reading.no_time, float):
        return tuple(_timed(entry, reading.no_time) for entry in entries)
    if not timed:
        found, allowed = "nobody has a time", 'a time, or no_time = "20:00" under [field]'
        raise BadInput(Problem("entry list, column time", found, allowed, file=file))
    if reading.no_time == "leave out":
        return tuple(timed)
    times: dict[str, list[float]] = defaultdict(list)
    for entry in timed:
        times[entry.team.casefold()].append(entry.time_s)
    everybody = median(entry.time_s for entry in timed)
    return tuple(
        _timed(entry, median(times.get(entry.team.casefold(), [everybody]))) for entry in entries
    )


def _timed(entry: Entry, time_s: float) -> Entry:
    return replace(entry, time_s=time_s, guessed=True) if math.isnan(entry.time_s) else entry


def _columns(rows: list[Row], chosen: Columns, file: str) -> dict[str, tuple[int, ...]]:
    """At which positions does each of our columns stand? A name may stand in two."""
    head = rows[0][1]
    if not chosen and not any(columns_meaning(m, head, {}) for m in WORDS):
        told = ", ".join(repr(shortened(cell)) for cell in head[:MOST_LISTED])
        allowed = "a first line that names the columns, such as name,team,time"
        raise BadInput(
            Problem(f"line {rows[0][0]}", f"no names of columns: {told}", allowed, file=file)
        )
    problems, column = [], {}
    for wanted in ("name", "team", "time"):
        found = _name_columns(head, chosen) if wanted == "name" else []
        found = found or [(at,) for at in columns_meaning(wanted, head, chosen)]
        if len(found) == 1:
            column[wanted] = found[0]
        else:
            suits = reads_with(_time_s) if wanted == "time" else _is_word
            several = [at for positions in found for at in positions]
            problems.append(which_column(wanted, rows, several, "field", suits))
    if problems:
        raise BadInput(problems).in_file(file)
    return column


def _name_columns(head: list[str], chosen: Columns) -> list[tuple[int, ...]]:
    """A whole name in one column, else a first and a last name in two; a last name may be called name."""
    whole, first, last = (columns_meaning(m, head, chosen) for m in ("name", "first", "last"))
    if len(first) == 1 and "name" not in chosen and len(last or whole) == 1:
        return [(first[0], (last or whole)[0])] if not (last and whole) else [(whole[0],)]
    return []


def _is_word(cell: str) -> bool:
    return not any(sign.isdigit() for sign in cell)


def _mistakes(line: int, read: Mapping[str, str], plain: PlainTimes) -> list[Problem]:
    problems = []
    for column in ("name", "team"):
        text = read[column]
        if not text or len(text) > LONGEST_TEXT or not text.isprintable():
            allowed = f"1 to {LONGEST_TEXT} printable letters"
            problems.append(_problem(line, column, text, allowed))
    try:
        _time_s(read["time"], plain)
    except ValueError:
        wrong = _problem(line, "time", read["time"], ALLOWED_TIME)
        problems.append(replace(wrong, nearest=nearest_time(read["time"])))
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


def _too_large(file: str) -> Problem:
    megabytes = LARGEST_BYTES // 1_000_000
    return Problem("entry list", "too large", f"at most {megabytes} MB", file=file)
