"""A changed scenario file: keys of its text are changed, and every comment, blank line and order stays."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from simrun.base.errors import BadInput, Problem
from simrun.base.units import METRES_A_YARD
from simrun.scenario.tables.lengths import METRES_PER, NUMBER

KeyPath = tuple[str | int, ...]
"""Where a key stands: tables by key, an entry of a list by its name or by its number from 1."""

Change = tuple[KeyPath, Any]
"""A key and its new value; None takes the key away."""


@dataclass(frozen=True)
class Inserted:
    """As the value of a change: a new entry of a list, before the one that has this number now.

    instead_of: the number, from 0, that an entry had which goes and which this one stands for.
    """

    table: Mapping[str, Any]
    instead_of: int | None = None


_WITH_UNIT = re.compile(rf"\s*{NUMBER}(\s*)([A-Za-z]+)\s*", re.ASCII)
_HUNDREDTHS = 2
_NO_BLANK_LINE = re.compile(r"^([^#\n][^\n]*)\n(\[)", re.MULTILINE)
_TWO_BLANK_LINES = re.compile(r"\n{3,}\[")

LISTS = ("teams", "people", "pieces", "checkpoints", "landmarks", "widths", "places", "races")
"""Keys that hold a list of tables, each under a head of its own."""


def edited(text: str, changes: Sequence[Change]) -> str:
    """The text of a scenario with these keys changed; what is not named stays to the last sign.

    A team that the file does not hold yet is added to its end, so is a table that is missing, and an entry
    one beyond the last of a list. Raises BadInput
    where a key leads nowhere. Check: tests/unit/scenario/test_toml_edit.py.
    """
    import tomlkit

    try:
        document: Any = tomlkit.parse(text)
    except (ValueError, RecursionError):
        raise BadInput(Problem("file", "cannot be read as TOML", "mend it by hand first")) from None
    for path, value in changes:
        if value is None:
            _take_away(document, path)
        elif isinstance(value, Inserted):
            _insert(document, path, value)
        else:
            _set(document, path, value)
    return _spaced(text, str(tomlkit.dumps(document)))


def _spaced(before: str, after: str) -> str:
    """A new table has a blank line before it, and one only, where all tables of the file have.

    A text over several lines may look like a head of a table: then nothing is touched.
    """
    if '"""' in after or "'''" in after:
        return after
    for wrong, right in ((_NO_BLANK_LINE, r"\1\n\n\2"), (_TWO_BLANK_LINES, "\n\n[")):
        if not wrong.search(before):
            after = wrong.sub(right, after)
    return after


def dotted(changes: Sequence[Change]) -> dict[str, Any]:
    """The same changes as `Scenario.changed` wants them."""
    return {".".join(map(str, path)): value for path, value in changes}


def length_like(written: object, metres: float, units: str) -> object:
    """A length in the manner of what was written: in yards where it was in yards, a number where it was one.

    To the hundredth of what it is written in. units: of the scenario, for a key that was not written yet.
    """
    found = _WITH_UNIT.fullmatch(written) if isinstance(written, str) else None
    if found and found[2].lower() in METRES_PER:
        number = round(metres / METRES_PER[found[2].lower()], _HUNDREDTHS)
        return f"{number:g}{found[1]}{found[2]}"
    if written is None and units == "us":
        return f"{round(metres / METRES_A_YARD, _HUNDREDTHS):g} yd"
    number = round(float(metres), _HUNDREDTHS)
    return int(number) if number == int(number) else number


def _take_away(document: Any, path: KeyPath) -> None:
    place = _walk(document, path[:-1])
    if place is not None and _key_in(place, path[-1]) is not None:
        del place[_key_in(place, path[-1])]


def _set(document: Any, path: KeyPath, value: Any) -> None:
    place = document
    for step, after in pairwise(path):
        place = _inside(place, step, after)
    key = _key_in(place, path[-1])
    if isinstance(place, list) and path[-1] == len(place) + 1:
        _append(place, _list([value])[0])
        return
    if key is None and isinstance(place, list):
        raise _lost(path)
    place[path[-1] if key is None else key] = _item(value)


def _insert(document: Any, path: KeyPath, value: Inserted) -> None:
    """The new table stands between blank lines, and whatever stood there comes behind it."""
    import tomlkit

    place, number = _walk(document, path[:-1]), path[-1]
    if (
        not isinstance(place, list)
        or not isinstance(number, int)
        or not 0 < number <= len(place) + 1
    ):
        raise _lost(path)
    table = _list([value.table])[0]
    if number > len(place):
        _append(place, table)
        return
    table.add(tomlkit.nl())
    place.insert(number - 1, table)


def _item(value: Any) -> Any:
    """What tomlkit writes for a value: tables inside a value stand in one line, as in the shipped files."""
    import tomlkit

    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, inner in value.items():
            table[key] = _item(inner)
        return table
    if isinstance(value, list | tuple):
        return _list(value)
    return tomlkit.item(value)


def _list(value: Sequence[Any]) -> Any:
    """A list of tables stands under heads of their own, any other in one line."""
    import tomlkit

    if value and all(isinstance(entry, Mapping) for entry in value):
        tables = tomlkit.aot()
        for entry in value:
            table = tomlkit.table()
            for key, inner in entry.items():
                table[key] = _item(inner)
            tables.append(table)
        return tables
    array = tomlkit.array()
    for entry in value:
        array.append(_item(entry))
    return array


def _walk(place: Any, path: KeyPath) -> Any:
    for step in path:
        key = _key_in(place, step)
        if key is None:
            return None
        place = place[key]
    return place


def _inside(place: Any, step: str | int, after: str | int) -> Any:
    """The table or list behind a key, made where it is missing."""
    import tomlkit

    key = _key_in(place, step)
    if key is not None:
        return place[key]
    if isinstance(place, list):
        if isinstance(step, int):
            raise _lost((step,))
        made = tomlkit.table()
        made["name"] = step
        _append(place, made)
        return place[-1]
    place[step] = tomlkit.aot() if step in LISTS else tomlkit.table()
    return place[step]


def _append(place: Any, table: Any) -> None:
    """One more table at the end of a list, with a blank line before it, and after it where there was one."""
    import tomlkit

    if place and str(place[-1].as_string()).endswith("\n\n"):
        table.add(tomlkit.nl())
    elif place:
        place[-1].add(tomlkit.nl())
    place.append(table)


def _key_in(place: Any, step: str | int) -> Any:
    """The key or index that a step means in a table or list; None where there is none."""
    if not isinstance(place, list):
        return step if isinstance(place, Mapping) and step in place else None
    if isinstance(step, int):
        return step - 1 if 0 < step <= len(place) else None
    names = [str(entry.get("name", "")).strip() for entry in place if isinstance(entry, Mapping)]
    return names.index(step) if step in names else None


def _lost(path: KeyPath) -> BadInput:
    return BadInput(Problem(".".join(map(str, path)), "leads nowhere", "a key of this scenario"))
