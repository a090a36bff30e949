"""A way clicked on a sheet becomes a course of straights and turns; a lap closes by itself.

All arithmetic that a lap needs is here: every turn is an arc that touches both legs, and the lap begins so
far behind its first corner that coming in along the last leg ends at the same point, facing the same way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.papers import Papers, people_tables
from simrun.base.errors import BadInput, Problem
from simrun.base.written_tables import table_text
from simrun.desk.words import DRAWN_HEAD, FEW_POINTS, NOT_SAID

Array = NDArray[np.float64]

SMALLEST_TURN_DEG, LARGEST_TURN_DEG = 5.0, 170.0
ROUND_M = 8.0
"""A corner is rounded to this radius of the middle where its legs are long enough (assumed)."""

LEG_SHARE = 0.45
"""Of a leg so much at most goes into the arc at each of its ends."""

NARROWS_OVER_M, LEAST_M = 50.0, 1.0
SLOWEST_M_S = 2.0
MOST_POINTS = 120


@dataclass(frozen=True)
class Drawn:
    """What was drawn and typed. points_m (P, 2): the clicks in order, metres. lap_from: the number, from 0,
    of the click that the last one leads back to; None: no lap. laps: how often that is run.
    """

    name: str
    points_m: Array
    line_m: float
    width_m: float
    boxes: int
    box_m: float
    front_row: int
    lap_from: int | None = None
    laps: int = 1
    units: str = "metric"


@dataclass(frozen=True)
class _Turn:
    """A corner: degrees to the left (below zero: right), inside radius, and metres of each leg it takes."""

    left_deg: float
    inside_m: float
    takes_m: float


def drawn_text(drawn: Drawn) -> str:
    """The text of the scenario. Raises BadInput where the clicks make no course.

    Check: tests/unit/desk/test_drawn_way.py (every click is passed, laps close, lengths by hand).
    """
    pieces, lap = pieces_of(drawn)
    ways = [piece["length"] if "length" in piece else _arc_m(piece, drawn) for piece in pieces]
    throat = sum(ways[:2])
    start = {
        "width": round(drawn.line_m, 2),
        "boxes": drawn.boxes,
        "box_width": round(drawn.box_m, 2),
        "front_row": drawn.front_row,
    }
    course: dict[str, Any] = {"laps": lap} if lap else {}
    lap_m = sum(ways) * drawn.laps
    head = {"name": drawn.name, "about": NOT_SAID, "invented": False, "units": drawn.units}
    parts = [
        DRAWN_HEAD,
        table_text("", head),
        table_text("[clock]", {"limit": f"{max(3, math.ceil(lap_m / SLOWEST_M_S / 60))} min"}),
        table_text("[start]", start),
        table_text("[course]", course),
        *(table_text("[[course.pieces]]", piece) for piece in pieces),
        table_text("[[course.checkpoints]]", {"name": "narrowing", "at": round(throat, 1)}),
        *people_tables(Papers({}, {}, {}, "Our team")),
    ]
    return "\n".join(parts)


def pieces_of(drawn: Drawn) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """The pieces in order, and which of them are a lap (nothing where none is)."""
    points, lap_from = _plain(drawn)
    if lap_from is None:
        return _once(points, drawn), {}
    return _lapped(points, lap_from, drawn)


def _plain(drawn: Drawn) -> tuple[Array, int | None]:
    """The clicks without those that do not turn; refused where they make no way."""
    points = np.asarray(drawn.points_m, dtype=float).reshape(-1, 2)
    if len(points) < 2 or (drawn.lap_from is not None and len(points) < 3):
        raise BadInput(Problem("drawing", f"{len(points)} clicks", FEW_POINTS))
    if len(points) > MOST_POINTS or not np.isfinite(points).all():
        raise BadInput(Problem("drawing", f"{len(points)} clicks", f"at most {MOST_POINTS}"))
    lap_from = drawn.lap_from
    if lap_from is not None and not 0 < lap_from <= len(points) - 3:
        raise BadInput(
            Problem("lap", f"back to click {lap_from + 1}", "a corner three or more clicks back")
        )
    at = 1
    while at < len(points) - 1:
        straight = abs(_turn_deg(points[at - 1], points[at], points[at + 1])) < SMALLEST_TURN_DEG
        if straight and at != lap_from:
            points = np.delete(points, at, axis=0)
            lap_from = lap_from - 1 if lap_from is not None and at < lap_from else lap_from
            at = max(1, at - 1)
        else:
            at += 1
    return points, lap_from


def _once(points: Array, drawn: Drawn) -> list[dict[str, Any]]:
    legs = np.hypot(*np.diff(points, axis=0).T)
    turns = [_turn(points[i - 1 : i + 2], legs[i - 1 : i + 1], drawn) for i in range(1, len(legs))]
    takes = [0.0, *(turn.takes_m for turn in turns), 0.0]
    pieces: list[dict[str, Any]] = []
    for i, leg in enumerate(legs):
        left_m = leg - takes[i] - takes[i + 1]
        pieces += _start(left_m, drawn) if i == 0 else [_leg(i + 1, left_m)]
        if i < len(turns):
            pieces.append(_corner(i + 1, turns[i]))
    return pieces


def _lapped(
    points: Array, lap_from: int, drawn: Drawn
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """The way to the lap's first corner, the lap, and the bit that brings it back to where it began."""
    around = np.vstack([points, points[lap_from], points[lap_from + 1]])
    legs = np.hypot(*np.diff(around, axis=0).T)
    turns = [_turn(around[i - 1 : i + 2], legs[i - 1 : i + 1], drawn) for i in range(1, len(legs))]
    first, last = turns[lap_from - 1], turns[-1]
    # So far behind the corner the lap begins: whichever way one came round it, one is on the leg by then.
    begins = max(first.takes_m, last.takes_m) + LEAST_M
    takes = [0.0, *(turn.takes_m for turn in turns)]
    pieces: list[dict[str, Any]] = []
    lap_name = ""
    for i in range(len(points)):
        ahead = takes[i + 1]
        if i == lap_from:
            if begins > first.takes_m:
                pieces.append({**_leg(i + 1, begins - first.takes_m), "name": "way in"})
            pieces.append(_leg(i + 1, legs[i] - begins - ahead))
            lap_name = pieces[-1]["name"]
        else:
            left_m = legs[i] - takes[i] - ahead
            pieces += _start(left_m, drawn) if i == 0 else [_leg(i + 1, left_m)]
        pieces += [_corner(i + 1, turns[i])] if abs(turns[i].left_deg) >= SMALLEST_TURN_DEG else []
    pieces.append({**_leg(len(points) + 1, begins - last.takes_m), "name": "end of the lap"})
    return pieces, {"from": lap_name, "to": "end of the lap", "times": drawn.laps}


def _turn(three: Array, legs: Array, drawn: Drawn) -> _Turn:
    angle = _turn_deg(*three)
    if abs(angle) < SMALLEST_TURN_DEG:
        return _Turn(0.0, 0.0, 0.0)
    if abs(angle) > LARGEST_TURN_DEG:
        x, y = three[1]
        found = f"the way turns back at {x:.0f}, {y:.0f} m"
        raise BadInput(Problem("drawing", found, "go round a corner in two clicks or more"))
    tangent = math.tan(math.radians(abs(angle)) / 2)
    half = drawn.width_m / 2
    radius = max(half, min(ROUND_M + half, LEG_SHARE * float(legs.min()) / tangent))
    inside = round(radius - half, 2)
    return _Turn(round(angle, 4), inside, (inside + half) * tangent)


def _turn_deg(before: Array, at: Array, after: Array) -> float:
    (ax, ay), (bx, by) = at - before, after - at
    return math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def _start(left_m: float, drawn: Drawn) -> list[dict[str, Any]]:
    """The first leg: as wide as the line, then down to the width of the course."""
    over = min(NARROWS_OVER_M, left_m / 3)
    if left_m < 4 * LEAST_M:
        found = f"{max(left_m, 0.0):.1f} m of the first leg"
        raise BadInput(Problem("drawing", found, "a longer way before the first corner"))
    straight = {"piece": "straight", "name": "start straight", "length": round(left_m - over, 4)}
    narrows = {"piece": "narrowing", "name": "narrowing", "length": round(over, 4)}
    if drawn.width_m >= drawn.line_m:
        narrows["piece"] = "straight"
    return [
        straight | {"width": round(drawn.line_m, 2)},
        narrows | {"width": round(drawn.width_m, 2)},
    ]


def _leg(number: int, left_m: float) -> dict[str, Any]:
    if left_m < LEAST_M / 2:
        found = f"leg {number} is too short for the corners at its ends"
        raise BadInput(Problem("drawing", found, "clicks further apart, or a narrower course"))
    return {"piece": "straight", "name": f"leg {number}", "length": round(left_m, 4)}


def _corner(number: int, turn: _Turn) -> dict[str, Any]:
    return {
        "piece": "turn",
        "name": f"corner {number}",
        "side": "left" if turn.left_deg > 0 else "right",
        "angle": abs(turn.left_deg),
        "inside_radius": turn.inside_m,
    }


def _arc_m(piece: dict[str, Any], drawn: Drawn) -> float:
    return math.radians(piece["angle"]) * (piece["inside_radius"] + drawn.width_m / 2)


def points_of(asked: Sequence[Any]) -> Array:
    """Pairs of numbers as the page sends them. Raises BadInput."""
    try:
        points = np.array(asked, dtype=float)
    except (ValueError, TypeError):
        points = np.zeros(0)
    if points.ndim != 2 or points.shape[1:] != (2,) or not np.isfinite(points).all():
        raise BadInput(Problem("drawing", "not a list of points", "pairs of metres"))
    return points
