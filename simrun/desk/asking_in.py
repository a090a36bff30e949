"""Values as a page sends them become values of ours, or one line of what is wrong."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, get_args

from simrun.base.errors import BadInput, Problem
from simrun.scenario.in_text.written_ground import PlaceAsked, PlaceKind
from simrun.scenario.in_text.written_line import LineAsked
from simrun.scenario.in_text.written_plan import PlanAsked

Asked = Mapping[str, Any]

LONGEST_TEXT = 6_000_000
MOST_NAMES = 40


def number(asked: Asked, key: str) -> float:
    """A finite number at a key. Raises BadInput."""
    value = asked.get(key)
    try:
        found = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        found = math.nan
    if isinstance(value, bool) or not abs(found) < 1e9:
        raise BadInput(Problem(key, repr(value)[:40], "a number is needed"))
    return found


def counted(asked: Asked, key: str) -> int:
    """A whole number at a key. Raises BadInput."""
    found = number(asked, key)
    if found != round(found):
        raise BadInput(Problem(key, f"{found:g}", "a whole number is needed"))
    return int(found)


def text_of(asked: Asked, key: str, otherwise: str | None = None) -> str:
    """A text at a key. Raises BadInput."""
    value = asked.get(key, otherwise)
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise BadInput(Problem(key, "missing or no text", "a text is needed"))
    return value


def given(asked: Asked, key: str, kind: type) -> Any:
    """A list or a table at a key. Raises BadInput."""
    value = asked.get(key)
    if not isinstance(value, kind):
        raise BadInput(Problem(key, "missing or of another kind", "as the page sends it"))
    return value


def line_asked(asked: Asked) -> LineAsked:
    """What is dragged or typed of the line and its ground."""

    def maybe(key: str) -> float | None:
        return None if asked.get(key) is None else number(asked, key)

    def count(key: str) -> int | None:
        return None if asked.get(key) is None else counted(asked, key)

    throat = maybe("throat")
    return LineAsked(
        width_m=maybe("width"),
        bow_m=maybe("bow"),
        tilt_deg=maybe("tilt"),
        sideways_m=maybe("sideways"),
        boxes=count("boxes"),
        box_width_m=maybe("box_width"),
        front_row=count("front_row"),
        straight_m=maybe("straight"),
        throat=None if throat is None else (counted(asked, "throat_number"), throat),
        waves=count("waves"),
        wave_gap_s=maybe("wave_gap"),
    )


def place_asked(asked: Asked) -> PlaceAsked:
    """What is where on the course. Raises BadInput."""
    kind = asked.get("kind")
    if kind not in get_args(PlaceKind):
        raise BadInput(Problem("kind", repr(kind)[:40], "something that can stand on a course"))

    def maybe(key: str) -> float | None:
        return None if asked.get(key) is None else number(asked, key)

    for key in ("length", "width"):
        if (maybe(key) or 1.0) <= 0.0:
            raise BadInput(Problem(key, f"{maybe(key):g}", "more than nothing"))
    return PlaceAsked(
        kind=kind,  # type: ignore[arg-type]
        name=text_of(asked, "name"),
        at_m=number(asked, "at"),
        length_m=maybe("length"),
        width_m=maybe("width"),
        climb_m=maybe("climb"),
        side=text_of(asked, "side", ""),
    )


def plan_asked(asked: Asked) -> PlanAsked:
    """What our team is told."""
    front = asked.get("front")
    if front is not None and not _names(front):
        raise BadInput(Problem("front", "no list of names", "names from left to right"))
    return PlanAsked(
        box=None if asked.get("box") is None else counted(asked, "box"),
        front=front,
        openings=_numbers(asked, "openings"),
        lines=_words(asked, "lines"),
        plan=_numbers(asked, "plan"),
        others=None if asked.get("others") is None else text_of(asked, "others"),
    )


def _names(value: Any) -> bool:
    return (
        isinstance(value, list)
        and len(value) <= MOST_NAMES
        and all(isinstance(name, str) for name in value)
    )


def _numbers(asked: Asked, key: str) -> dict[str, float]:
    table = asked.get(key) or {}
    if not isinstance(table, Mapping) or len(table) > MOST_NAMES:
        raise BadInput(Problem(key, "no table of numbers", "numbers by name"))
    return {str(name): number(table, name) for name in table}


def _words(asked: Asked, key: str) -> dict[str, str]:
    table = asked.get(key) or {}
    if not isinstance(table, Mapping) or len(table) > MOST_NAMES:
        raise BadInput(Problem(key, "no table of words", "words by name"))
    return {str(name): text_of(table, name) for name in table}
