"""Where do the figures lie, and how is one looked up?

Read once, on first use, from `simrun/shared/figures` (an installed package) or `shared/figures` at
the top of the repository. Check: tests/unit/sources/test_sources.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TypeVar

from simrun.base.errors import nearest_word
from simrun.sources.reading import read_library
from simrun.sources.records import Figure, Reference

Entry = TypeVar("Entry")


def shared_folder() -> Path:
    """Where is the reference data? In the installed package, else at the repository's top."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "shared"
    return inside if (inside / "figures").is_dir() else package.parent / "shared"


@cache
def _library() -> tuple[dict[str, Figure], dict[str, Reference]]:
    return read_library(shared_folder() / "figures")


def scenarios_folder() -> Path:
    """Where are the shipped scenarios? Beside the reference data."""
    return shared_folder().parent / "scenarios"


def figure(key: str) -> Figure:
    """What is the number called `key`, such as "runner.following_time_s"?

    Raises KeyError naming the nearest key when there is no such figure.
    """
    return _look_up(_library()[0], key, "figure")


def figures(prefix: str = "") -> tuple[Figure, ...]:
    """All figures whose key begins with `prefix`, in the order of the table."""
    return tuple(entry for key, entry in _library()[0].items() if key.startswith(prefix))


def reference(key: str) -> Reference:
    """The bibliography entry called `key`. Raises KeyError naming the nearest key."""
    return _look_up(_library()[1], key, "reference")


def references() -> tuple[Reference, ...]:
    """The whole bibliography, in the order of the table."""
    return tuple(_library()[1].values())


def _look_up(table: Mapping[str, Entry], key: str, what: str) -> Entry:
    if key in table:
        return table[key]
    nearest = nearest_word(key, table)
    hint = f"; did you mean {nearest!r}?" if nearest else ""
    raise KeyError(f"no {what} is called {key!r}{hint}")
