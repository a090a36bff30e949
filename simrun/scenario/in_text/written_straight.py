"""A wobbly stretch is drawn straight: which keys say so, so that the ground behind it stays where it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.scenario.checks.place_checks import station_of
from simrun.scenario.in_text.kept_orders import WAS, corners_of, places_there, told_there
from simrun.scenario.in_text.toml_edit import Change, Inserted, length_like
from simrun.scenario.in_text.written_ground import SPLIT, Found, found_at
from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]

SMALLEST_TURN_DEG = 5.0
"""A piece turns by so much or not at all (`tables/schema.py`)."""

ROUND_M, LEG_SHARE = 8.0, 0.45
LEAST_M = 0.5


@dataclass(frozen=True)
class End:
    """An end of the new straight: where it is, which way the old one runs there, and on which piece."""

    found: Found
    point_m: Array
    heading: float


def straight_changes(
    day: Scenario, from_m: float, to_m: float, drop_orders: bool = False
) -> list[Change]:
    """The keys that make one straight of what lies between two places, metres along the measured line.

    Both lie on straights. Where the new one leaves them at an angle there is a corner; where the angles are
    too small for corners, the two old straights are drawn out until they meet; where those run the same way
    too, one straight is left. Marks behind it move with their ground; a new corner keeps the name of the bend
    that it stands for, and what is told for a corner follows it. drop_orders: orders for a corner that goes,
    go with it. Raises BadInput, OrdersLost where nobody said that they may.
    Check: tests/unit/scenario/test_written_straight.py.
    """
    first, last = sorted((from_m, to_m))
    ends = _end(day, first), _end(day, last)
    one, other = (end.found.index for end in ends)
    if one >= other:
        allowed = "places on two different straights, with the bends between them"
        raise BadInput(Problem("stretch", "nothing bends between these places", allowed))
    corners = _corners(*ends)
    changes = _written(day, ends, corners)
    return changes + _what_stands_there(day, changes, (first, last), drop_orders)


def _end(day: Scenario, at_m: float) -> End:
    found, strip = found_at(day, at_m), day.strip
    if day.course.pieces[found.index].piece not in SPLIT:
        raise BadInput(
            Problem("stretch", "an end in a bend or a narrowing", "both ends on straights")
        )
    cell = int(np.searchsorted(strip.station_m, at_m, "right") - 1)
    middle = strip.middle_m[cell : cell + 2]
    step = middle[1] - middle[0]
    begin, end = strip.station_m[cell : cell + 2]
    point = middle[0] + step * (at_m - begin) / max(end - begin, 1e-9)
    return End(found, point, math.atan2(step[1], step[0]))


def _corners(one: End, other: End) -> list[Array]:
    """The points of the new way between the two ends where it turns: two, one or none."""
    way = other.point_m - one.point_m
    along = math.atan2(way[1], way[0])
    if min(_turns(one.heading, along), _turns(along, other.heading)) >= SMALLEST_TURN_DEG:
        return [one.point_m, other.point_m]
    if _turns(one.heading, other.heading) < SMALLEST_TURN_DEG:
        return []
    ahead = np.array([math.cos(one.heading), math.sin(one.heading)])
    back = np.array([math.cos(other.heading), math.sin(other.heading)])
    out, over = np.linalg.solve(np.column_stack([ahead, back]), way)
    room = other.found.length_m - other.found.offset_m
    if out <= -one.found.offset_m or over <= -room:
        raise BadInput(Problem("stretch", "the two straights do not meet", "ends further apart"))
    return [one.point_m + out * ahead]


def _turns(before: float, after: float) -> float:
    return abs(_left_deg(before, after))


def _left_deg(before: float, after: float) -> float:
    return math.degrees((after - before + math.pi) % (2 * math.pi) - math.pi)


def _written(day: Scenario, ends: tuple[End, End], corners: list[Array]) -> list[Change]:
    """The first straight shorter, corners and a straight in place of the bends, the last one shorter."""
    (one, other), pieces = ends, day.document["course"]["pieces"]
    begin = one.point_m - one.found.offset_m * _unit(one.heading)
    end = other.point_m + (other.found.length_m - other.found.offset_m) * _unit(other.heading)
    way = np.array([begin, *corners, end])
    if not corners:  # what is left of a slight bend goes into the length alone
        way = np.array(
            [begin, begin + _unit(one.heading) * float((end - begin) @ _unit(one.heading))]
        )
    legs = np.hypot(*np.diff(way, axis=0).T)
    width = one.found.width_m
    turns = [_corner(way[i : i + 3], legs[i : i + 2], width) for i in range(len(legs) - 1)]
    takes = [0.0, *(takes for _, takes in turns), 0.0]
    lengths = [float(leg - takes[i] - takes[i + 1]) for i, leg in enumerate(legs)]
    if min(lengths) < LEAST_M:
        raise BadInput(
            Problem("stretch", "no room for the corners", "ends a few metres further away")
        )
    first, last = one.found.index + 1, other.found.index + 1

    def long(number: int, metres: float) -> Change:
        like = length_like(pieces[number - 1].get("length"), metres, day.units)
        return (("course", "pieces", number, "length"), like)

    changes = [long(first, lengths[0])]
    if len(lengths) > 1:
        changes.append(long(last, lengths[-1]))
    gone = range(last if len(lengths) == 1 else last - 1, first, -1)
    _keep_laps(day, set(gone))
    changes += [(("course", "pieces", number), None) for number in gone]
    new: list[dict[str, Any]] = []
    for at, (turn, _) in enumerate(turns):
        new.append(turn)
        if at + 1 < len(turns):
            like = length_like(pieces[first - 1].get("length"), lengths[at + 1], day.units)
            new.append({"piece": "straight", "length": like})
    changes += _climbs(day, gone, new, first)
    for i, (piece, was) in enumerate(zip(new, _stand_for(day, gone, new), strict=True), start=1):
        old = {} if was is None else pieces[was]
        named = {key: old[key] for key in ("name",) if key in old}
        table = {"piece": piece["piece"], **named, **piece}
        changes.append((("course", "pieces", first + i), Inserted(table, was)))
    return changes


def _stand_for(day: Scenario, gone: range, new: Sequence[Mapping[str, Any]]) -> list[int | None]:
    """Which bend that goes does each new corner stand for? The sharpest to the same side, in their order."""
    pieces, found = day.course.pieces, list[int | None]()
    bends = sorted(n - 1 for n in gone if pieces[n - 1].piece == "turn")
    for piece in new:
        alike = [n for n in bends if pieces[n].side == piece.get("side")]
        was = max(alike, key=lambda n: pieces[n].angle_deg or 0.0, default=None)
        bends = bends if was is None else [n for n in bends if n > was]
        found.append(was)
    return found


def _climbs(day: Scenario, gone: range, new: list[dict[str, Any]], first: int) -> list[Change]:
    """What the bends climbed, the new way climbs: in its middle, else on the straight before."""
    climb = sum(day.course.pieces[number - 1].climb_m for number in gone)
    if not climb:
        return []
    if new:
        new[len(new) // 2]["climb"] = round(climb, 3)
        return []
    own = day.course.pieces[first - 1].climb_m
    return [(("course", "pieces", first, "climb"), round(own + climb, 3))]


def _keep_laps(day: Scenario, gone: set[int]) -> None:
    """A piece at which a lap begins or ends does not go. Raises BadInput."""
    laps = day.course.laps
    named = {laps.first, laps.last} if laps else set()
    named |= {name for piece in day.course.pieces for name in (piece.first, piece.last) if name}
    lost = [
        piece.name
        for n, piece in enumerate(day.course.pieces, 1)
        if n in gone and piece.name in named
    ]
    if lost:
        raise BadInput(
            Problem("stretch", f"a lap begins or ends at {lost[0]!r}", "a stretch within the lap")
        )


def _corner(three: Array, legs: Array, width_m: float) -> tuple[dict[str, Any], float]:
    """A turn through a point, and how much of each leg it takes."""
    before, after = (math.atan2(*step[::-1]) for step in np.diff(three, axis=0))
    left = _left_deg(before, after)
    tangent = math.tan(math.radians(min(abs(left), 175.0)) / 2)
    half = width_m / 2
    radius = max(half, min(ROUND_M + half, LEG_SHARE * float(min(legs)) / tangent))
    inside = round(radius - half, 2)
    turn = {
        "piece": "turn",
        "side": "left" if left > 0 else "right",
        "angle": round(abs(left), 4),
        "inside_radius": inside,
    }
    return turn, (inside + half) * tangent


def _unit(heading: float) -> Array:
    return np.array([math.cos(heading), math.sin(heading)])


def _what_stands_there(
    day: Scenario, changes: list[Change], between: tuple[float, float], drop_orders: bool
) -> list[Change]:
    """Marks, orders and places of the coach go with their ground."""
    pieces = _pieces_after(day.document["course"]["pieces"], changes)
    corners = corners_of(day.document["course"]["pieces"], pieces)
    told = told_there(day, corners, drop_orders)
    bare = _bare(day, [{k: v for k, v in piece.items() if k != WAS} for piece in pieces])
    once = day.course.laps.times if day.course.laps else 1
    shift = (bare.strip.length_m - day.strip.length_m) / once
    (first, last), longest = between, bare.strip.length_m

    def moved(at_m: float) -> float:
        """As much nearer as the way is shorter, within the stretch by its share."""
        share = min(1.0, max(0.0, (at_m - first) / max(last - first, 1e-9)))
        return min(at_m + share * shift, longest)

    where = {station_of(place, day.strip) for place in day.places}
    places = places_there(day, corners, bare, {at_m: moved(at_m) for at_m in where})
    return _marks(day, first, moved) + told + places


def _bare(day: Scenario, pieces: list[dict[str, Any]]) -> Scenario:
    """The course alone, without what names a place of it."""
    course, changes = day.document["course"], dict[str, object]()
    changes |= {"course.pieces": pieces, "course.checkpoints": []}
    changes |= {"course.landmarks": []} if "landmarks" in course else {}
    changes |= {"places": []} if day.places else {}
    changes |= {"start.aim": None} if day.start.aim_at else {}
    told = (team["name"].strip() for team in day.document.get("teams", []) if "lines" in team)
    return day.changed({**changes, **{f"teams.{name}.lines": None for name in told}})


def _marks(day: Scenario, first_m: float, moved: Callable[[float], float]) -> list[Change]:
    """Checkpoints and landmarks behind the beginning of the stretch."""
    course, changes = day.document["course"], list[Change]()
    for kind in ("checkpoints", "landmarks"):
        for number, mark in enumerate(getattr(day.course, kind), start=1):
            if mark.at_m > first_m:
                written = course[kind][number - 1]["at"]
                like = length_like(written, moved(mark.at_m), day.units)
                changes.append((("course", kind, number, "at"), like))
    return changes


def _pieces_after(pieces: list[dict[str, Any]], changes: list[Change]) -> list[dict[str, Any]]:
    """The list as these changes of it leave it, each with the number that it had, see `kept_orders`."""
    after = [{**piece, WAS: number} for number, piece in enumerate(pieces)]
    for path, value in changes:
        at = int(path[2]) - 1
        if isinstance(value, Inserted):
            was = {} if value.instead_of is None else {WAS: value.instead_of}
            after.insert(at, {**value.table, **was})
        elif value is None:
            del after[at]
        else:
            after[at][str(path[3])] = value
    return after
