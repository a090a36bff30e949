"""Straights and turns that a watch saw become the pieces of a scenario, and the places whose width is
unknown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from simrun.course.drawing.drawn_features import refuse
from simrun.course.walked.track_chain import Bit
from simrun.course.walked.track_climb import Profile
from simrun.course.walked.track_course import WatchCourse
from simrun.course.walked.track_fit import BOW_RAD

HAIRPIN_DEG = 150.0
"""A turn by so much is called a hairpin: common usage, no source."""

NARROWED_SHARE, LATEST_NARROWED_M = 0.8, 250.0
"""At so much of the first straight, or here, the start has come down to the course; half of that way it
is as wide as the line (assumed)."""

MOUTH_LENGTH_M, MOUTH_SHARE = 15.0, 0.3
"""Where a stretch is narrower than the one before it comes down over so much of its first straight
(assumed)."""

LEAST_START_M = 20.0
WITH_WIDTH_M = 2.5
"""A piece that changes the width has room to do so."""


@dataclass(frozen=True)
class Widths:
    """What somebody measured, metres: the line, how far it stays that wide, where it has come down, the
    course.

    stretches: by the number of the stretch, where it is not as wide as the rest of the course.
    """

    line_m: float
    course_m: float
    wide_m: float | None = None
    narrowed_m: float | None = None
    stretches: Mapping[int, float] = field(default_factory=dict)

    def of(self, stretch: int) -> float:
        """How wide is this stretch?"""
        return self.stretches.get(stretch, self.course_m)


@dataclass(frozen=True)
class Stretch:
    """Ground of one width: from the end of a turn to the end of the next. from_m, to_m: along the middle.

    turn_deg: of the turn it ends with, positive to the left, 0 at the finish. middle_m: a point in its
    middle.
    """

    number: int
    from_m: float
    to_m: float
    turn_deg: float
    middle_m: tuple[float, float]


@dataclass(frozen=True)
class Pieces:
    """The tables of the pieces in their order (lengths in metres), the laps, and what is not known.

    wide_m, narrowed_m: how far the start stays as wide as its line, and where it has come down.
    """

    tables: tuple[dict[str, Any], ...]
    laps: dict[str, Any] | None
    stretches: tuple[Stretch, ...]
    wide_m: float
    narrowed_m: float


def tightest_m(course: WatchCourse, widths: Widths) -> dict[int, float]:
    """How tight the middle of a turn may be so that its inside is still on the ground: by the turn's
    number, in the order of chain and rest; only of those that are tighter."""
    found, number = {}, 0
    for bit, stretch, _ in _with_stretches(course):
        if bit.is_turn:
            least = widths.of(stretch) / 2 + 0.01
            if bit.radius_m < least:
                found[number] = least
            number += 1
    return found


def stretches_of(course: WatchCourse) -> tuple[Stretch, ...]:
    """Which stretches may have a width of their own? Each from the end of a turn to the end of the next."""
    rows: dict[int, list[tuple[float, float, Bit, bool]]] = {}
    along = {False: 0.0, True: 0.0}
    shown_from = {False: 0.0, True: course.rest_begins_m + course.laps * course.lap_m}
    for bit, stretch, rest in _with_stretches(course):
        begin = along[rest]
        along[rest] += bit.way_m
        rows.setdefault(stretch, []).append((begin, along[rest], bit, rest))
    found = []
    for number, bits in rows.items():
        # The last straight of a lap belongs to the stretch on which the lap began: its own place tells it.
        first, rest = bits[0][0], bits[0][3]
        last = next((row for row in bits if _is_sharp(row[2])), bits[-1])
        chain = course.rest if rest and course.rest else course.chain
        x, y = chain.points_at(np.array([(first + last[1]) / 2]))[0]
        turn = float(np.rad2deg(last[2].bend_rad)) if last[2].is_turn else 0.0
        places = shown_from[rest] + first, shown_from[rest] + last[1]
        found.append(Stretch(number, *places, turn, (float(x), float(y))))
    return tuple(found)


def _with_stretches(course: WatchCourse) -> Iterator[tuple[Bit, int, bool]]:
    """Every bit once, the stretch it belongs to, and whether it is of the rest.

    A lap ends on the stretch on which it begins, and what follows the laps begins on the one it leaves.
    """
    chain = course.chain.bits
    turns = [k for k, bit in enumerate(chain) if _is_sharp(bit)]
    numbers = [1 + sum(turn < k for turn in turns) for k in range(len(chain))]
    if course.lap_at is not None and turns and turns[-1] > course.lap_at:
        numbers[turns[-1] + 1 :] = [numbers[course.lap_at]] * (len(chain) - turns[-1] - 1)
    yield from ((bit, n, False) for bit, n in zip(chain, numbers, strict=True))
    if course.rest is None:
        return
    number = numbers[course.rest_from + 1 if course.rest_from >= 0 else course.lap_at or 0]
    highest = max(numbers)
    for bit in course.rest.bits:
        yield bit, number, True
        if _is_sharp(bit):
            highest += 1
            number = highest


def _is_sharp(bit: Bit) -> bool:
    return bit.is_turn and abs(bit.bend_rad) > BOW_RAD


def pieces_of(course: WatchCourse, profile: Profile, widths: Widths) -> Pieces:
    """The pieces of this course as they stand in a scenario. The start is straight, as wide as its line
    at first.

    Check: tests/unit/course/test_watch_pieces.py.
    """
    made = _Pieces(course, profile, widths)
    return made.all()


class _Pieces:
    """Pieces as they are laid, with the width and the height so far."""

    def __init__(self, course: WatchCourse, profile: Profile, widths: Widths) -> None:
        self.course, self.profile, self.widths = course, profile, widths
        self.tables: list[dict[str, Any]] = []
        self.width_m = widths.line_m
        self.height_m = round(profile.height(0.0), 1)
        self.counted = {"straight": 0, "turn": 0, "bend": 0, "hairpin": 0, "narrowing": 0}
        room = course.chain.bits[0].length_m
        if room < LEAST_START_M:
            allowed = f"a straight of at least {LEAST_START_M:g} m: another beginning with --from"
            refuse("track", f"turns {room:.0f} m behind its beginning", allowed)
        latest = room - WITH_WIDTH_M
        self.narrowed_m = widths.narrowed_m or min(NARROWED_SHARE * room, LATEST_NARROWED_M, latest)
        self.wide_m = widths.wide_m or self.narrowed_m / 2
        if not self.wide_m <= self.narrowed_m - 1.0 <= latest - 1.0:
            found = f"wide for {self.wide_m:.0f} m, narrowed at {self.narrowed_m:.0f} m"
            then = "the lap begins" if course.lap_at == 1 else "the first bend comes"
            refuse(
                "start",
                found,
                f"narrowed at least 1 m later, and before {latest:.0f} m: {then} there",
            )

    def all(self) -> Pieces:
        course = self.course
        ends: list[int] = []
        along, rest_along = 0.0, 0.0
        laid_laps = False
        for bit, stretch, rest in _with_stretches(course):
            if rest and not laid_laps:
                laps = self._once_more(ends)
                laid_laps = True
            place = rest_along if rest else along
            self._lay(bit, stretch, place, rest)
            if rest:
                rest_along += bit.way_m
            else:
                along += bit.way_m
                ends.append(len(self.tables))
        if not laid_laps:
            laps = self._once_more(ends)
        return Pieces(tuple(self.tables), laps, stretches_of(course), self.wide_m, self.narrowed_m)

    def _once_more(self, ends: list[int]) -> dict[str, Any] | None:
        """The laps after the first, and the piece of one before the rest."""
        course = self.course
        if course.lap_at is None:
            return None
        first = self.tables[ends[course.lap_at - 1] if course.lap_at else 0]["name"]
        last = self.tables[-1]["name"]
        if course.rest_from >= 0:
            upto = self.tables[ends[course.rest_from] - 1]["name"]
            self.tables.append({"piece": "again", "from": first, "to": upto})
            numbers = [number for _, number, _ in _with_stretches(course)]
            self.width_m = self.widths.of(numbers[course.rest_from])
            self.height_m = round(self.profile.height(course.rest_begins_m), 1)
        return {"from": first, "to": last, "times": course.laps} if course.laps > 1 else None

    def _lay(self, bit: Bit, stretch: int, place: float, rest: bool) -> None:
        if bit.is_turn:
            self._turn(bit, place + bit.way_m, rest)
        elif not self.tables:
            self._start(bit, stretch)
        else:
            self._straight(place, place + bit.length_m, stretch, rest)

    def _name(self, kind: str) -> str:
        self.counted[kind] += 1
        return f"{kind} {self.counted[kind]}"

    def _climb(self, at_m: float, rest: bool) -> dict[str, float]:
        """To which height, as what is to be climbed: in tenths of a metre, so that a lap adds up to
        nothing."""
        height = round(self.profile.height(at_m, rest), 1)
        climb, self.height_m = round(height - self.height_m, 1), height
        return {"climb": climb} if climb else {}

    def _turn(self, bit: Bit, end_m: float, rest: bool) -> None:
        degrees = abs(float(np.rad2deg(bit.bend_rad)))
        kind = (
            "hairpin"
            if degrees > HAIRPIN_DEG
            else "turn"
            if abs(bit.bend_rad) > BOW_RAD
            else "bend"
        )
        self.tables.append(
            {
                "piece": "turn",
                "name": self._name(kind),
                "side": "left" if bit.bend_rad > 0 else "right",
                "angle": round(degrees, 2),
                "inside_radius": max(0.0, bit.radius_m - self.width_m / 2),
                **self._climb(end_m, rest),
            }
        )

    def _start(self, bit: Bit, stretch: int) -> None:
        """As wide as the line, coming down evenly, and the rest of the first straight."""
        width = self.widths.of(stretch)
        head = {"piece": "straight", "name": "start straight", "width": self.widths.line_m}
        self.tables.append({**head, "length": self.wide_m, **self._climb(self.wide_m, False)})
        funnel = {"piece": "narrowing", "name": "first narrowing", "width": width}
        length = self.narrowed_m - self.wide_m
        self.tables.append({**funnel, "length": length, **self._climb(self.narrowed_m, False)})
        self.width_m = width
        self._slopes(self.narrowed_m, bit.length_m, False)

    def _straight(self, begin_m: float, end_m: float, stretch: int, rest: bool) -> None:
        width = self.widths.of(stretch)
        if width < self.width_m:
            length = min(MOUTH_LENGTH_M, MOUTH_SHARE * (end_m - begin_m))
            table = {"piece": "narrowing", "name": self._name("narrowing"), "width": width}
            self.tables.append({**table, "length": length, **self._climb(begin_m + length, rest)})
            begin_m, self.width_m = begin_m + length, width
        self._slopes(begin_m, end_m, rest, width)

    def _slopes(self, begin_m: float, end_m: float, rest: bool, width: float | None = None) -> None:
        for upto in [*self.profile.cuts_m(begin_m, end_m, rest), end_m]:
            table = {"piece": "straight", "name": self._name("straight"), "length": upto - begin_m}
            if width is not None and width != self.width_m and upto - begin_m >= WITH_WIDTH_M:
                table["width"], self.width_m = width, width
            self.tables.append({**table, **self._climb(upto, rest)})
            begin_m = upto
