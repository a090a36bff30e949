"""Bends go, corners are new: what was told for a corner follows it, and what names a lost one is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from simrun.base.errors import BadInput, Problem
from simrun.scenario.checks.place_checks import named_stations, station_of
from simrun.scenario.in_text.toml_edit import Change, length_like
from simrun.scenario.scenario import Scenario

WAS = "was"
"""Under this key a piece of a changed course keeps the number that it had."""


@dataclass(frozen=True)
class Order:
    """What a team is told for a place that is no longer there."""

    team: str
    place: str
    line: str


class OrdersLost(BadInput):
    """These orders name a corner that goes: somebody has to say so before they go with it."""

    def __init__(self, orders: Sequence[Order]) -> None:
        self.orders = tuple(orders)
        allowed = "these orders dropped with it, or another stretch"
        problems = [
            Problem(f"teams.{order.team}.lines.{order.place}", order.line, allowed)
            for order in orders
        ]
        super().__init__(problems)


@dataclass(frozen=True)
class Corners:
    """What every turn was called, and what it is called now; a turn that goes is not among `now`."""

    before: Mapping[int, str]
    now: Mapping[int, str]

    def renamed(self, name: str) -> str | None:
        """What is a place called now that had this name? None: it was a turn, and is no longer there."""
        plain, at, lap = name.partition("@")
        was = [number for number, other in self.before.items() if other == plain]
        if not was:
            return name
        kept = [self.now[number] for number in was if number in self.now]
        return kept[0] + at + lap if kept else None


def corners_of(before: Sequence[Mapping[str, Any]], now: Sequence[Mapping[str, Any]]) -> Corners:
    """The turns of a course as written before and now, by the number that each piece had before."""
    had = [{**piece, WAS: number} for number, piece in enumerate(before)]
    return Corners(_turn_names(had), _turn_names(now))


def _turn_names(pieces: Sequence[Mapping[str, Any]]) -> dict[int, str]:
    """Turns without a name are numbered along the course, as the ground has them (`course/build.py`)."""
    turns = [piece for piece in pieces if piece["piece"] == "turn"]
    return {
        piece[WAS]: piece.get("name") or f"turn {number}"
        for number, piece in enumerate(turns, start=1)
        if WAS in piece
    }


def told_there(day: Scenario, corners: Corners, drop: bool) -> list[Change]:
    """What the teams are told follows its corner. drop: orders for a corner that goes, go with it.

    Raises OrdersLost where there are such and nobody said so.
    Check: tests/unit/scenario/test_kept_orders.py.
    """
    changes: list[Change] = []
    lost: list[Order] = []
    for team in day.document.get("teams", []):
        told = dict(team.get("lines", {}))
        kept = {corners.renamed(name): line for name, line in told.items()}
        lost += [
            Order(team["name"].strip(), name, _said(line))
            for name, line in told.items()
            if corners.renamed(name) is None
        ]
        kept.pop(None, None)
        if kept != told:
            changes.append((("teams", team["name"].strip(), "lines"), kept or None))
    if lost and not drop:
        raise OrdersLost(lost)
    return changes


def _said(line: object) -> str:
    return ", ".join(map(str, line)) if isinstance(line, list) else str(line)


def places_there(
    day: Scenario, corners: Corners, bare: Scenario, moved_m: Mapping[float, float]
) -> list[Change]:
    """What the coach says of a place stays with it: by its new name, else by its metres.

    bare: the changed course without its marks; moved_m: where every place lies now, by where it lay.
    """
    changes: list[Change] = []
    marks = {mark.name for mark in (*day.course.checkpoints, *day.course.landmarks)}
    known = marks | named_stations(bare.strip).keys()
    for number, place in enumerate(day.places, start=1):
        at_m = station_of(place, day.strip)
        written = day.document["places"][number - 1]["at"]
        name = corners.renamed(place.at) if isinstance(place.at, str) else None
        by_metres = length_like(
            None if isinstance(place.at, str) else written, moved_m[at_m], day.units
        )
        now = name if name in known else by_metres
        if now != written:
            changes.append((("places", number, "at"), now))
    return changes
