"""Which keys say that there is a gate, a narrowing, a trail, a hill, a post, a landmark or people here?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from simrun.base.errors import BadInput, Problem
from simrun.scenario.checks.ground_checks import SHORTEST_WITH_WIDTH_M
from simrun.scenario.checks.place_checks import SAME_M, station_of
from simrun.scenario.in_text.toml_edit import Change, Inserted, length_like
from simrun.scenario.in_text.written_plan import mark_changes
from simrun.scenario.scenario import Scenario

PlaceKind = Literal["landmark", "people", "narrowing", "gate", "trail", "hill", "rise", "post"]
SPLIT = ("straight", "trail")
"""Only such a piece is cut in two: a turn or a narrowing is one thing."""

COMES_IN_M = 10.0
"""Over so many metres a narrowing that is clicked comes in, where there is room."""

HAIRPIN_DEG = 150.0
"""Beyond this the legs of a turn meet too far away to be lengthened to there."""

AT_A_GATE_M = 2.0
"""A gap is a metre of coming in, the gap itself, and a metre of going out again (`course/pieces.py`)."""

CARRIED = ("left", "right", "surface")
"""What a stretch keeps of the piece in which it lies."""


@dataclass(frozen=True)
class PlaceAsked:
    """What is where: at_m along the measured line. length_m: of the stretch; None: to the end of its piece.

    width_m: of a narrowing, a gate or a trail. climb_m: of a hill or a rise. side: where people stand.
    """

    kind: PlaceKind
    name: str
    at_m: float
    length_m: float | None = None
    width_m: float | None = None
    climb_m: float | None = None
    side: str = ""


@dataclass(frozen=True)
class Found:
    """A place on a piece: its index from 0, how far into it, how long it is, and how wide."""

    index: int
    offset_m: float
    length_m: float
    width_m: float


def place_changes(day: Scenario, asked: PlaceAsked) -> list[Change]:
    """The keys that say so. A stretch is cut out of its straight piece, so nothing else moves.

    Raises BadInput where it does not fit. Check: tests/unit/scenario/test_written_ground.py.
    """
    if asked.kind == "landmark":
        return mark_changes(day, asked.name, asked.at_m)
    if asked.kind == "people":
        return _people(day, asked)
    if asked.kind == "post":
        return _post(day, asked)
    return _stretch(day, asked)


def _people(day: Scenario, asked: PlaceAsked) -> list[Change]:
    """People of ours stand here; where the coach has said something of the place, there too."""
    side = asked.side if asked.side in ("left", "right", "both") else None
    for number, place in enumerate(day.places, start=1):
        if abs(station_of(place, day.strip) - asked.at_m) < SAME_M:
            there: list[Change] = [(("places", number, "crowd"), True)]
            return there + ([(("places", number, "side"), side)] if side else [])
    told = {"at": length_like(None, asked.at_m, day.units), "name": asked.name.strip()}
    told |= {"side": side} if side else {}
    return [(("places", len(day.places) + 1), {**told, "crowd": True})]


def found_at(day: Scenario, at_m: float) -> Found:
    """On which piece does this place lie? Raises BadInput where the course is drawn on a map file."""
    strip, pieces = day.strip, day.course.pieces
    if not pieces:
        allowed = "gates, widths and hills of this course stand in its map file"
        raise BadInput(Problem("course", "a course drawn on a map", allowed))
    cell = int(
        np.clip(np.searchsorted(strip.station_m, at_m, "right") - 1, 0, len(strip.section) - 1)
    )
    index = int(strip.section[cell])
    first = cell
    while first > 0 and strip.section[first - 1] == index and strip.station_m[first] > 0:
        first -= 1
    ways = np.hypot(*np.diff(strip.middle_m[first : cell + 2], axis=0).T)
    begin, end = strip.station_m[cell : cell + 2]
    share = float(np.clip((at_m - begin) / max(end - begin, 1e-9), 0.0, 1.0))
    length = pieces[index].length_m or math.inf
    offset = float(ways[:-1].sum() + share * ways[-1]) % length
    return Found(index, offset, length, _width_of(day, index))


def _width_of(day: Scenario, index: int) -> float:
    """How wide is this piece at its end? As written there, else as the one before it."""
    written = [
        piece.width_m
        for number, piece in enumerate(day.course.pieces[: index + 1])
        if piece.width_m is not None and (piece.piece != "gap" or number == index)
    ]
    return written[-1] or day.start.width_m


def _stretch(day: Scenario, asked: PlaceAsked) -> list[Change]:
    found = found_at(day, asked.at_m)
    written = day.document["course"]["pieces"][found.index]
    if day.course.pieces[found.index].piece not in SPLIT:
        allowed = "a place on a straight stretch, a few metres from the turn or the narrowing"
        raise BadInput(Problem("place", f"on {written.get('name', written['piece'])!r}", allowed))
    parts, before_m, taken_m = _parts(day, asked, found)
    left_m = found.length_m - before_m - taken_m
    # The end of a piece is often meant where it is nearly met.
    if before_m < SHORTEST_WITH_WIDTH_M or left_m < -0.05:
        allowed = (
            f"from 2 m behind the beginning of {written.get('name', 'this stretch')!r} to its end"
        )
        found_m = f"{taken_m:.0f} m, with {found.length_m - before_m:.0f} m left there"
        raise BadInput(Problem("place", found_m, allowed))
    return _cut_out(day, found, parts, (before_m, max(left_m, 0.0)))


def _parts(
    day: Scenario, asked: PlaceAsked, found: Found
) -> tuple[list[dict[str, Any]], float, float]:
    """The new pieces, how far into the old one they begin, and how much of it they take."""
    rest_m = found.length_m - found.offset_m
    long_m = rest_m if asked.length_m is None else asked.length_m
    named = {"name": asked.name.strip()}
    wide = {"width": asked.width_m}
    if asked.kind in ("narrowing", "gate") and asked.width_m is None:
        raise BadInput(Problem("width", "missing", "how wide it is"))
    if asked.kind in ("hill", "rise") and asked.climb_m is None:
        raise BadInput(Problem("climb", "missing", "by how much it climbs"))
    if asked.kind == "gate":
        long_m = max(0.5, long_m if asked.length_m is not None else 1.0)
        gate = {"piece": "gap", **named, "length": long_m, **wide}
        return [gate], found.offset_m - AT_A_GATE_M / 2, long_m + AT_A_GATE_M
    if asked.kind == "narrowing":
        over_m = min(COMES_IN_M, found.offset_m / 2)
        comes_in = {"piece": "narrowing", **named, "length": over_m, **wide}
        narrow = {"piece": "straight", "length": long_m}
        return [comes_in, narrow], found.offset_m - over_m, over_m + long_m
    if asked.kind == "trail":
        trail = {"piece": "trail", **named, "length": long_m, "surface": "dirt"}
        return [trail | (wide if asked.width_m else {})], found.offset_m, long_m
    climb = float(asked.climb_m or 0.0)
    up = {"piece": "straight", **named, "climb": climb}
    if asked.kind == "rise":
        return [{**up, "length": long_m}], found.offset_m, long_m
    half = long_m / 2
    down = {"piece": "straight", "length": half, "climb": -climb}
    return [{**up, "length": half}, down], found.offset_m, long_m


def _cut_out(
    day: Scenario, found: Found, parts: list[dict[str, Any]], lengths_m: tuple[float, float]
) -> list[Change]:
    """The piece ends where the first part begins; what is left of it comes behind the last."""
    number = found.index + 1
    written = day.document["course"]["pieces"][found.index]
    (before_m, left_m), at = lengths_m, ("course", "pieces", number)
    changes: list[Change] = [
        (("course", "pieces", number, "length"), _like(day, written, before_m))
    ]
    climb = day.course.pieces[found.index].climb_m
    if climb:
        changes.append(((*at, "climb"), round(climb * before_m / found.length_m, 3)))
    carried = {key: written[key] for key in CARRIED if key in written}
    pieces = [{**carried, **part} for part in parts]
    if left_m >= SHORTEST_WITH_WIDTH_M:
        pieces.append(_left_over(day, found, parts, left_m))
    elif left_m:
        pieces[-1]["length"] += left_m
    for part in pieces:
        if climb:
            own = climb * part["length"] / found.length_m
            part["climb"] = round(part.get("climb", 0.0) + own, 3)
        part["length"] = _like(day, written, part["length"])
        if "width" in part and not isinstance(part["width"], str):
            part["width"] = length_like(written.get("width"), float(part["width"]), day.units)
    for further, part in enumerate(pieces, start=1):
        changes.append((("course", "pieces", number + further), Inserted(part)))
    return changes + _lap_ends(day, written.get("name", ""), pieces[-1])


def _left_over(
    day: Scenario, found: Found, parts: list[dict[str, Any]], left_m: float
) -> dict[str, Any]:
    """The rest of the piece, as wide as it was before where a part of it is narrower."""
    written = day.document["course"]["pieces"][found.index]
    gone = ("name", "length", "width", "climb")
    rest: dict[str, Any] = {key: value for key, value in written.items() if key not in gone}
    if "name" in written and _ends_a_lap(day, written["name"]):
        rest["name"] = f"{written['name']}, the end"
    rest["length"] = left_m
    if any("width" in part and part["piece"] != "gap" for part in parts):
        rest["width"] = found.width_m
    return rest


def _ends_a_lap(day: Scenario, name: str) -> bool:
    laps = day.course.laps
    last = [piece.last for piece in day.course.pieces if piece.last]
    return name in [*last, *([laps.last] if laps else [])]


def _lap_ends(day: Scenario, name: str, last: Mapping[str, Any]) -> list[Change]:
    """Where the piece ended a lap, its last part does so now."""
    if not name or not _ends_a_lap(day, name):
        return []
    to = last.get("name", name)
    laps = day.course.laps
    return [(("course", "laps", "to"), to)] if laps and laps.last == name else []


def _post(day: Scenario, asked: PlaceAsked) -> list[Change]:
    """The turn here goes round a post: no inside radius, and both legs reach as much further.

    Formula: each leg ends R tan(angle / 2) before the corner's point, so without R it is longer by that. A
    hairpin has no such point: its legs stay as long as they are and come nearer to one another.
    """
    found = found_at(day, asked.at_m)
    turns = [i for i, piece in enumerate(day.course.pieces) if piece.piece == "turn"]
    near = [i for i in turns if abs(i - found.index) <= 1]
    if not near:
        raise BadInput(
            Problem("place", "no turn here", "a place on a turn: the post stands inside it")
        )
    index = (
        found.index
        if found.index in near
        else near[-1 if found.offset_m > found.length_m / 2 else 0]
    )
    turn = day.course.pieces[index]
    pieces = day.document["course"]["pieces"]
    angle = turn.angle_deg or 0.0
    more_m = (
        (turn.inside_radius_m or 0.0) * math.tan(math.radians(angle) / 2)
        if angle <= HAIRPIN_DEG
        else 0.0
    )
    path = ("course", "pieces", index + 1)
    changes: list[Change] = [((*path, "around"), asked.name.strip()), ((*path, "inside_radius"), 0)]
    for beside in (index - 1, index + 1):
        leg = day.course.pieces[beside] if 0 <= beside < len(pieces) else None
        if leg is None or leg.length_m is None or leg.piece == "gap":
            raise BadInput(
                Problem("place", "a turn without a straight at both its ends", "another turn")
            )
        length = _like(day, pieces[beside], leg.length_m + more_m)
        changes.append((("course", "pieces", beside + 1, "length"), length))
    return changes


def _like(day: Scenario, written: Mapping[str, Any], metres: float) -> object:
    return length_like(written.get("length"), metres, day.units)
