"""The ten questions about a race day, in their order."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from simrun.answers.kind import Ask, Asked
from simrun.answers.new.words import ASKED
from simrun.answers.options import count_of, length_of, name_of
from simrun.scenario.tables.schema import MOST_BOXES, NARROWEST_M, WIDEST_M
from simrun.scenario.tables.schema_teams import MOST_RUNNERS

LONGEST_RACE_M, SHORTEST_RACE_M = 20_000.0, 200.0


def units_of(text: str) -> str:
    """metric or us."""
    if text.casefold() not in ("metric", "us"):
        raise ValueError(f"{text[:40]!r}; metric or us")
    return text.casefold()


def _length_within(low_m: float, high_m: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        metres = length_of(text)
        if not low_m <= metres <= high_m:
            raise ValueError(f"{text[:40]!r}; {low_m:g} to {high_m:g} m")
        return metres

    return read


def _count_within(most: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        count = count_of(text)
        if count > most:
            raise ValueError(f"{text[:40]!r}; a whole number from 1 to {most}")
        return count

    return read


WIDTH = _length_within(NARROWEST_M, WIDEST_M)
READ: dict[str, Callable[[str], Any]] = {
    "name": name_of,
    "units": units_of,
    "start_width": WIDTH,
    "boxes": _count_within(MOST_BOXES),
    "front_row": _count_within(MOST_RUNNERS),
    "narrowing": _length_within(10.0, 5000.0),
    "width": WIDTH,
    "length": _length_within(SHORTEST_RACE_M, LONGEST_RACE_M),
    "team": name_of,
    "box": _count_within(MOST_BOXES),
}
"""What is asked, in this order, and how an answer is read. Ten: a test counts them."""

DEFAULT = {
    "name": "Our race",
    "units": "metric",
    "start_width": "60 m",
    "boxes": "20",
    "front_row": "3",
    "narrowing": "250 m",
    "width": "6 m",
    "length": "5 km",
    "team": "Our team",
    "box": "1",
}
DEFAULT_US = {"start_width": "66 yd", "narrowing": "275 yd", "width": "20 ft", "length": "3.1 mi"}


def next_ask(asked: Asked) -> Ask | None:
    """The next of the ten questions that nothing has settled yet; None when all is known."""
    if asked.grammar:
        return None
    for key, read in READ.items():
        known = vars(asked).get(key)
        if known not in (None, "") or (key in ("team", "box") and _is_in_papers(asked, key)):
            continue
        default = {**DEFAULT, **(DEFAULT_US if asked.units == "us" else {})}[key]
        return Ask(key, ASKED[key], default, read)
    return None


def _is_in_papers(asked: Asked, key: str) -> bool:
    """Do the lists that were brought say it? A box sheet says the box; of a list our team is asked by its
    names."""
    return bool(asked.box_sheet) or (key == "team" and bool(asked.entries))
