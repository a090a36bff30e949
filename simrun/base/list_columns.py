"""Which column of a list means what, and which of its lines belong to the race that is asked about?

Nothing is guessed where two readings are left: the likeliest are named in one line, with the key that
settles it.
Check: tests/unit/runners/test_lists_as_people_have_them.py.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.list_rows import Row, plain_name, plainly, shortened

WORDS = {
    "name": ("name", "runner", "athlete", "full name", "athlete name", "runner name"),
    "first": ("first", "first name", "firstname", "given name", "forename"),
    "last": ("last", "last name", "lastname", "surname", "family name"),
    "team": ("team", "school", "club", "team name", "school name", "club name"),
    "time": ("time", "seed", "seed time", "5k", "5 km", "5km", "5k time", "5 km time"),
    "race": ("race", "division", "event", "section", "category", "gender", "sex"),
    "box": ("box", "gate", "pen", "box number", "box no", "box #"),
}
MOST_LISTED = 8
READINGS = 3

Columns = Mapping[str, str | int]
"""Which column means what, by its name or its number from 1, as somebody settled it."""


def known_words(chosen: Columns) -> set[str]:
    """Every name by which a column is known."""
    words = {word for words in WORDS.values() for word in words}
    return words | {plain_name(name) for name in chosen.values() if isinstance(name, str)}


def columns_meaning(meaning: str, head: list[str], chosen: Columns) -> list[int]:
    """The positions of the columns that may mean this."""
    if meaning in chosen:
        name = chosen[meaning]
        if isinstance(name, int):
            return [name - 1] if 0 < name <= len(head) else []
        return [at for at, cell in enumerate(head) if plain_name(cell) == plain_name(name)]
    taken = {at for other in chosen for at in columns_meaning(other, head, {other: chosen[other]})}
    names = enumerate(map(plain_name, head))
    return [at for at, name in names if name in WORDS[meaning] and at not in taken]


def which_column(
    meaning: str,
    rows: Sequence[Row],
    found: Sequence[int],
    table: str = "",
    suits: Callable[[str], bool] = bool,
) -> Problem:
    """One line that asks which column is meant, with the three likeliest.

    table: the scenario's table where `columns` settles it; "" where only another name in the file does.
    suits: does a cell look like what is wanted?
    """
    line, head = rows[0]
    told = [repr(shortened(head[at])) for at in found or range(len(head))][:MOST_LISTED]
    told += ["..."] * (len(head) > MOST_LISTED and not found)
    likely = found or _likeliest(meaning, rows, suits)
    names = [_settling(head, at) for at in likely[:READINGS]]
    instead = "more than one: " if found else "missing among "
    wanted = _asked(meaning, names, table)
    return Problem(f"line {line}, column {meaning}", instead + ", ".join(told), wanted)


def reads_with(time_s: Callable[[str], float]) -> Callable[[str], bool]:
    """Whether a cell looks like a time to `time_s`: seconds, nan for nobody's, ValueError for no time."""

    def is_time(cell: str) -> bool:
        try:
            return not math.isnan(time_s(cell))
        except ValueError:
            return False

    return is_time


def _asked(meaning: str, names: Sequence[str], table: str) -> str:
    if not table:
        return f"call one column {meaning}" + (f": {' or '.join(names)}?" if names else "")
    first, *others = names or ['"..."']
    else_ = f" (or {' or '.join(others)})" if others else ""
    return f"write columns = {{ {meaning} = {first} }}{else_} under [{table}]"


def _settling(head: list[str], at: int) -> str:
    """How is one column named so that no other is meant: its name, or its number where two share it?"""
    name = head[at]
    shared = [plain_name(cell) for cell in head].count(plain_name(name)) > 1
    return str(at + 1) if shared or not plain_name(name) else _quoted(name)


def _quoted(name: str) -> str:
    """A name as it stands in a scenario, on one line."""
    return f'"{plainly(shortened(name))}"'


def _likeliest(meaning: str, rows: Sequence[Row], suits: Callable[[str], bool]) -> list[int]:
    """The columns whose name is near, then those whose cells look like it; none that means another thing."""
    head, few = rows[0][1], [cells for _, cells in rows[1:21]]
    others = {word for other, words in WORDS.items() if other != meaning for word in words}
    scores = []
    for at, name in enumerate(head):
        if plain_name(name) in others:
            continue
        near = any(nearest_word(plain_name(name), [word]) for word in WORDS[meaning])
        cells = [cells[at] for cells in few if at < len(cells) and cells[at]]
        share = sum(map(suits, cells)) / max(1, len(cells))
        if near or share > 0.5:
            scores.append((-near, -share, at))
    return [at for *_, at in sorted(scores)]


def in_races(rows: Sequence[Row], races: Sequence[str], chosen: Columns, file: str) -> list[Row]:
    """The head and the lines of these races; all lines where the list is of one race.

    A line is taken where, in every column of races that holds one of the names, it holds one of them. Raises
    BadInput listing the races found where more than one is left that nobody chose between.
    """
    head, lines = rows[0], list(rows[1:])
    wanted = {plain_name(race) for race in races}
    columns = columns_meaning("race", head[1], chosen)
    asked = [at for at in columns if wanted & _names(lines, at).keys()]
    known = {name for at in columns for name in _names(lines, at)}
    missing = [race for race in races if plain_name(race) not in known]
    if columns and missing:
        raise BadInput(_no_such_race(head, columns, lines, missing)).in_file(file)
    for at in asked:
        lines = [row for row in lines if plain_name(_cell(row, at)) in wanted]
    open_columns = [at for at in columns if at not in asked and len(_names(lines, at)) > 1]
    if open_columns:
        raise BadInput(_which_race(head, open_columns[0], lines, races)).in_file(file)
    return [head, *lines]


def _cell(row: Row, at: int) -> str:
    return row[1][at] if at < len(row[1]) else ""


def _names(lines: Sequence[Row], at: int) -> Counter[str]:
    """How often does each race stand in a column?"""
    return Counter(plain_name(cell) for row in lines if (cell := _cell(row, at)))


def _as_written(lines: Sequence[Row], at: int) -> list[str]:
    """The races of a column as they are written there, most runners first."""
    written = {plain_name(_cell(row, at)): _cell(row, at) for row in reversed(lines)}
    return [written[name] for name, _ in _names(lines, at).most_common()]


def _which_race(head: Row, at: int, lines: Sequence[Row], races: Sequence[str]) -> Problem:
    names = _as_written(lines, at)
    counts = _names(lines, at)
    told = [f"{shortened(n)!r} ({counts[plain_name(n)]})" for n in names[:MOST_LISTED]]
    told += [f"and {len(names) - MOST_LISTED} more"] * (len(names) > MOST_LISTED)
    one = ", ".join(_quoted(name) for name in (*races, names[0]))
    write = f"race = [{one}]" if races else f"race = {one}"
    wanted = f"choose under [field], such as {write}; a list takes several"
    key = f"line {head[0]}, column {plainly(shortened(head[1][at]))}"
    return Problem(key, f"{len(names)} races: " + ", ".join(told), wanted)


def _no_such_race(
    head: Row, columns: Sequence[int], lines: Sequence[Row], races: Sequence[str]
) -> Problem:
    names = [name for at in columns for name in _as_written(lines, at)]
    told = ", ".join(repr(shortened(name)) for name in names[:MOST_LISTED]) or "none named"
    near = nearest_word(races[0], names)
    found = "no race " + " or ".join(repr(shortened(race)) for race in races)
    key = f"line {head[0]}, column {plainly(shortened(head[1][columns[0]]))}"
    return Problem(key, found, f"its races: {told}", near)
