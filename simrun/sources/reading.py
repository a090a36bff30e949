"""How do the two tables of `shared/figures` become figures, checked once?

Every mistake is reported together, one line each, naming the file and the key.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.sources.records import KINDS, KNOWN, ROLES, Figure, Reference

_REFERENCE_WORDS = ("authors", "year", "title", "published")
_NUMBERS = ("value", "low", "high")
_WORDS = ("unit", "meaning", "conditions", "reference", "place", "kind", "role", "known")
_MAY_BE_EMPTY = {"unit", "conditions", "place"}
_CHOICES = {"kind": KINDS, "role": ROLES, "known": KNOWN}

Row = Mapping[str, Any]


def read_library(folder: Path) -> tuple[dict[str, Figure], dict[str, Reference]]:
    """All figures and references of `folder`, by key. Raises BadInput on a row not complete."""
    references = _references(_table(folder / "references.toml"))
    rows = _table(folder / "figures.toml")
    problems = [p for key, row in rows.items() for p in _mistakes(key, row, references)]
    if problems:
        raise BadInput(problems).in_file("figures.toml")
    return {key: _figure(key, row, references) for key, row in rows.items()}, references


def _table(path: Path) -> dict[str, Row]:
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise BadInput(Problem("text", str(error), "a TOML table", file=path.name)) from error


def _references(rows: Mapping[str, Row]) -> dict[str, Reference]:
    problems = [
        Problem(f"{key}.{word}", "missing or empty", "a text")
        for key, row in rows.items()
        for word in _REFERENCE_WORDS
        if not (isinstance(row.get(word), str) and row[word])
    ]
    if problems:
        raise BadInput(problems).in_file("references.toml")
    return {key: Reference(key, *(row[w] for w in _REFERENCE_WORDS)) for key, row in rows.items()}


def _mistakes(key: str, row: Row, references: Mapping[str, Reference]) -> list[Problem]:
    found = [*_missing(key, row), *_unknown(key, row)]
    return found or [*_wrong_words(key, row, references), *_wrong_band(key, row)]


def _missing(key: str, row: Row) -> list[Problem]:
    numbers = [n for n in _NUMBERS if type(row.get(n)) not in (int, float)]
    words = [
        w
        for w in _WORDS
        if not isinstance(row.get(w), str) or (not row[w] and w not in _MAY_BE_EMPTY)
    ]
    return [
        *(Problem(f"{key}.{n}", "missing or not a number", "a number") for n in numbers),
        *(Problem(f"{key}.{w}", "missing or empty", "a text") for w in words),
    ]


def _unknown(key: str, row: Row) -> list[Problem]:
    known = (*_NUMBERS, *_WORDS)
    return [
        Problem(f"{key}.{word}", "unknown", f"one of {', '.join(known)}", nearest_word(word, known))
        for word in row
        if word not in known
    ]


def _wrong_words(key: str, row: Row, references: Mapping[str, Reference]) -> list[Problem]:
    problems = [
        Problem(f"{key}.{word}", repr(row[word]), f"one of {', '.join(choices)}")
        for word, choices in _CHOICES.items()
        if row[word] not in choices
    ]
    if (name := row["reference"]) not in references:
        nearest = nearest_word(name, references)
        problems.append(Problem(f"{key}.reference", repr(name), "a key of the list", nearest))
    return problems


def _wrong_band(key: str, row: Row) -> list[Problem]:
    low, value, high = (float(row[name]) for name in ("low", "value", "high"))
    found = f"low {low:g}, value {value:g}, high {high:g}"
    if not all(map(math.isfinite, (low, value, high))) or not low <= value <= high:
        return [Problem(key, found, "low <= value <= high, all finite")]
    if row["kind"] == "assumed" and low == high:
        return [Problem(key, found, "an assumed figure needs a range to try")]
    return []


def _figure(key: str, row: Row, references: Mapping[str, Reference]) -> Figure:
    numbers = {name: float(row[name]) for name in _NUMBERS}
    columns: dict[str, Any] = {**row, **numbers, "reference": references[row["reference"]]}
    return Figure(key=key, **columns)
