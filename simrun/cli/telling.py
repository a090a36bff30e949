"""How does a command say what it did? Figures as JSON, files by name, and a bar while it lasts."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any


def records(tables: dict[str, Any]) -> dict[str, Any]:
    """Tables as lists of records, fit for JSON."""
    return {name: json.loads(table.to_json(orient="records")) for name, table in tables.items()}


def print_json(figures: dict[str, Any], written: list[Path]) -> None:
    """Figures and files as one line of JSON."""
    print(json.dumps({**figures, "written": [str(path) for path in written]}, ensure_ascii=False))


def print_written(written: list[Path], notes: Sequence[str] = ()) -> None:
    """The files by name, and what is to be said about them."""
    print("\nWritten: " + ", ".join(str(path) for path in written))
    for note in notes:
        print(note)


FIRST_USE = "First use: preparing the engine, once; this takes about 15 s."


@contextmanager
def racing(title: str) -> Iterator[Callable[[float], None]]:
    """A progress bar over races, which also tells why the first one on a machine is slow."""
    from tqdm import tqdm

    from simrun.base.compiled import watched

    with bar(title) as told, watched(lambda: tqdm.write(FIRST_USE, file=sys.stderr)):
        yield told


@contextmanager
def bar(title: str) -> Iterator[Callable[[float], None]]:
    """A progress bar on standard error; it stays silent where nobody watches."""
    """A progress bar on standard error; it stays silent where nobody watches."""
    from tqdm import tqdm

    with tqdm(
        total=100,
        desc=title,
        unit="%",
        leave=False,
        disable=not sys.stderr.isatty(),
        bar_format="{desc}: {percentage:3.0f}% |{bar}| {remaining} left",
    ) as shown:
        yield lambda share: shown.update(max(0.0, 100 * share - shown.n)) and None
