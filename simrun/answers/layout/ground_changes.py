"""How does a course of pieces get a longer straight or another first narrowing?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from simrun.base.errors import BadInput, Problem
from simrun.scenario.scenario import Scenario


def throat_piece(scenario: Scenario) -> int | None:
    """Which piece, from 0, is the first to be narrower than the one before? None: none, or a drawing."""
    pieces = scenario.course.pieces
    width = pieces[0].width_m if pieces else None
    for index, piece in enumerate(pieces[1:], start=1):
        if piece.width_m and width and piece.width_m < width:
            return index
        width = piece.width_m or width
    return None


def first_straight_m(scenario: Scenario) -> float | None:
    """How long is it straight from the line to the piece that narrows (or turns)? None for a drawing."""
    if not scenario.course.pieces:
        return None
    narrow = throat_piece(scenario)
    total = 0.0
    for index, piece in enumerate(scenario.course.pieces):
        if piece.piece != "straight" or index == narrow:
            break
        total += piece.length_m or 0.0
    return total


def to_narrow_m(scenario: Scenario) -> float | None:
    """How far does a wheel read from the line to where the course is first narrow, or first turns?

    The piece that narrows counted in, as `simrun check` tells the first narrowing. None for a drawing.
    """
    straight_m, narrow = first_straight_m(scenario), throat_piece(scenario)
    if straight_m is None or narrow is None:
        return straight_m
    pieces = scenario.course.pieces
    turns_before = any(piece.piece != "straight" for piece in pieces[:narrow])
    counts = pieces[narrow].piece == "narrowing" and not turns_before
    return straight_m + (pieces[narrow].length_m or 0.0) if counts else straight_m


def ground_changes(scenario: Scenario, values: Mapping[str, float]) -> dict[str, Any]:
    """The part of a `LayoutChange` for another straight, narrowing, or a line wider than its ground."""
    named = values.keys() & {"straight", "throat"}
    pieces = scenario.course.pieces
    if not pieces:
        if named:
            found = f"{', '.join(sorted(named))} of a drawn course"
            raise BadInput(Problem("--vary", found, "only for a course of pieces"))
        return {}
    changes = _longer(scenario, values["straight"]) if "straight" in values else {}
    width_m = {}
    if "throat" in values:
        width_m[_throat_number(scenario)] = values["throat"]
    line_m = _line_m(scenario, values)
    if line_m > (pieces[0].width_m or 0.0):
        sideways_m = values.get("sideways", scenario.start.sideways_m)
        width_m[1] = line_m + 2 * abs(sideways_m)
    return {**changes, "piece_width_m": width_m}


def _line_m(scenario: Scenario, values: Mapping[str, float]) -> float:
    start = scenario.start
    boxes = values.get("teams", start.boxes)
    taken = start.boxes * start.box_width_m / start.width_m
    by_boxes = boxes * values["box-width"] / taken if "box-width" in values else start.width_m
    return values.get("width", by_boxes)


def _longer(scenario: Scenario, straight_m: float) -> dict[str, Any]:
    """The first piece takes up the difference; an arc keeps its point."""
    more = straight_m - (to_narrow_m(scenario) or 0.0)
    length_m = round((scenario.course.pieces[0].length_m or 0.0) + more, 6)
    if length_m <= 0:
        least = straight_m - length_m
        found, allowed = (
            f"straight={straight_m:g}",
            f"more than {least:.0f} m: the narrowing itself is as long",
        )
        raise BadInput(Problem("--vary", found, allowed))
    changes: dict[str, Any] = {"piece_length_m": {1: length_m}}
    if scenario.start.aim_m is not None:
        changes["aim_m"] = round(scenario.start.aim_m + more, 6)
    return changes


def _throat_number(scenario: Scenario) -> int:
    """The number, from 1, of the piece that narrows first."""
    piece = throat_piece(scenario)
    if piece is None:
        raise BadInput(Problem("--vary", "throat", "only where the course narrows"))
    return piece + 1
