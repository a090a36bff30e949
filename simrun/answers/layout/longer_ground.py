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


def ground_changes(scenario: Scenario, values: Mapping[str, float]) -> dict[str, Any]:
    """The keys to change for another straight, narrowing, or a line wider than its ground."""
    named = values.keys() & {"straight", "throat"}
    pieces = scenario.course.pieces
    if not pieces:
        if named:
            found = f"{', '.join(sorted(named))} of a drawn course"
            raise BadInput(Problem("--vary", found, "only for a course of pieces"))
        return {}
    changes: dict[str, Any] = {}
    if "straight" in values:
        changes |= _longer(scenario, values["straight"])
    if "throat" in values:
        changes |= _wider_throat(scenario, values["throat"])
    width = _line_m(scenario, values)
    if width > (pieces[0].width_m or 0.0):
        changes["course.pieces.1.width"] = width
    return changes


def _line_m(scenario: Scenario, values: Mapping[str, float]) -> float:
    start = scenario.start
    boxes = values.get("teams", start.boxes)
    taken = start.boxes * start.box_width_m / start.width_m
    by_boxes = boxes * values["box-width"] / taken if "box-width" in values else start.width_m
    return values.get("width", by_boxes)


def _longer(scenario: Scenario, straight_m: float) -> dict[str, Any]:
    """The first piece takes up the difference; an arc keeps its point."""
    more = straight_m - (first_straight_m(scenario) or 0.0)
    changes: dict[str, Any] = {
        "course.pieces.1.length": round((scenario.course.pieces[0].length_m or 0.0) + more, 6)
    }
    if scenario.start.aim_m is not None:
        changes["start.aim"] = round(scenario.start.aim_m + more, 6)
    return changes


def _wider_throat(scenario: Scenario, width_m: float) -> dict[str, Any]:
    piece = throat_piece(scenario)
    if piece is None:
        raise BadInput(Problem("--vary", "throat", "only where the course narrows"))
    return {f"course.pieces.{piece + 1}.width": width_m}
