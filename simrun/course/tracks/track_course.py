"""A recorded way becomes a course as people draw one: straights, turns, and laps that close."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simrun.course.tracks.track_chain import Bit, Chain
from simrun.course.tracks.track_fit import (
    BOW_RAD,
    BOW_RADIUS_M,
    USUAL_RADIUS_M,
    WANDERS_OVER_M,
    Fit,
    Fitted,
    Plan,
    Seen,
)
from simrun.course.tracks.track_laps import Laps, averaged, laps_of
from simrun.course.tracks.track_straights import Straight, straights_of
from simrun.course.tracks.track_walk import EVEN_M, Walk

Array = NDArray[np.float64]

START_M = 120.0
"""So much of the start is one straight: somebody runs it from a box beside the middle (assumed)."""

LEAST_BEND_RAD = float(np.deg2rad(9))
"""Two straights that differ by less are one (assumed: what a watch's error makes of one)."""

CROSSES_RAD = float(np.deg2rad(20))
HAIRPIN_RAD = float(np.deg2rad(140))

SEEN_BEHIND_M = 60.0
"""The start's own points hardly count where so much of its straight lies behind them."""

NOTHING: Mapping[int, float] = {}

LEAVES_M = 25.0
"""A lap begins, and is left, at least so far from a turn."""


@dataclass(frozen=True)
class WatchCourse:
    """The course that a watch saw: straights and turns to the end of the first lap, what is run again, the rest.

    lap_at: the bit with which the lap begins; laps: how often it is run; rest_from: the last bit of the lap that
    is run once more before the rest (-1: none). along_m (P,): how far along the whole course every point of the
    walk lies.
    """

    chain: Chain
    rest: Chain | None
    laps: int
    lap_at: int | None
    rest_from: int
    along_m: Array

    @property
    def bits(self) -> tuple[Bit, ...]:
        """Every straight and turn in the order of the race, as often as it is run."""
        if self.lap_at is None:
            return self.chain.bits
        lap = self.chain.bits[self.lap_at :]
        once_more = self.chain.bits[self.lap_at : self.rest_from + 1]
        rest = self.rest.bits if self.rest else ()
        return self.chain.bits + lap * (self.laps - 1) + once_more + rest

    @property
    def length_m(self) -> float:
        """Metres along the middle."""
        return sum(bit.way_m for bit in self.bits)


    @property
    def lap_m(self) -> float:
        """How long is a lap? 0 without one."""
        begins = self.chain.begins_m
        return 0.0 if self.lap_at is None else float(begins[-1] - begins[self.lap_at])

    @property
    def rest_begins_m(self) -> float:
        """How far along the chain what follows the last lap begins."""
        back = self.rest_from + 1 if self.rest_from >= 0 else self.lap_at
        return float(self.chain.begins_m[-1 if back is None else back])

    @property
    def places_m(self) -> tuple[NDArray[np.bool_], Array]:
        """Does every point of the walk lie on the rest, and how far along the rest or else the chain? (P,) twice."""
        if self.lap_at is None:
            return np.zeros(len(self.along_m), dtype=bool), self.along_m
        begin = self.chain.begins_m[self.lap_at]
        left = self.rest_begins_m + self.laps * self.lap_m
        is_rest = (self.along_m > left) & (self.rest is not None)
        place = np.where(is_rest, self.along_m - left, self.along_m)
        later = ~is_rest & (place > self.chain.length_m)
        return is_rest, np.where(later, begin + (place - begin) % self.lap_m, place)


def course_of(walk: Walk, tightest_m: Mapping[int, float] = NOTHING) -> WatchCourse:
    """Which straights and turns were gone, and how often?

    tightest_m: how tight the middle of a turn may be, by its number among those of the chain and the rest.

    Check: tests/unit/course/test_watch_course.py, tests/journeys/test_watch_tracks.py.
    """
    laps = laps_of(walk.points_m)
    route = _lapped(walk, laps) if laps else None
    return _fitted(walk, route or _once(walk), tightest_m)


@dataclass(frozen=True)
class _Visit:
    """Points of the walk passed in a row: their numbers, and which numbers of the first lap they answer to.

    lap: how many laps were run before.
    """

    numbers: Array
    as_first: Array
    lap: int = 0


@dataclass(frozen=True)
class _Route:
    """Straights up to the end of the first lap, those after the last, and what was passed when.

    lap_from: the number where the lap begins; lap_at, rest_from: as in Plan. rest_start: the number of the point
    with which the rest begins.
    """

    way_m: Array
    straights: list[Straight]
    visits: list[_Visit]
    tail_m: Array = field(default_factory=lambda: np.zeros((0, 2)))
    rest: list[Straight] | None = None
    laps: int = 1
    lap_from: int | None = None
    rest_after: int = -1
    """The straight before whose turn the rest begins anew; -1: at the lap's beginning."""


def _once(walk: Walk) -> _Route:
    numbers = np.arange(len(walk.points_m), dtype=float)
    straights = _straights(walk, walk.points_m, np.ones(len(walk.points_m)))
    return _Route(walk.points_m, straights, [_Visit(numbers, numbers)])


def _lapped(walk: Walk, laps: Laps) -> _Route | None:
    """The same with laps; None where the ground that is run again has no straight to begin a lap on."""
    mean, count = averaged(walk.points_m, laps)
    begin = _lap_begin(walk, laps, mean, count)
    if begin is None:
        return None
    passes = laps.passes(float(begin))
    end = round(passes[1])
    straights = _straights(walk, mean[: end + 1], count[: end + 1])
    here = next((k for k, one in enumerate(straights) if one.first < begin < one.last), None)
    if here is None or here == len(straights) - 1:
        return None
    if abs(_bend(straights[here], straights[-1])) > 2 * LEAST_BEND_RAD:
        return None
    left = _as_first(laps, float(laps.last), len(passes) - 1)
    after = [k for k in range(here + 1, len(straights)) if straights[k].first + LEAVES_M / EVEN_M < left]
    rest_after = after[-1] if after else -1
    back = straights[rest_after].first if after else begin
    rest_from = min(round(_as_later(laps, float(back), len(passes) - 1)), len(walk.points_m) - 6)
    tail = walk.points_m[rest_from:]
    rest = _without_slight(straights_of(tail, np.ones(len(tail)), walk.wander_m2_m * EVEN_M))
    return _Route(
        mean[: end + 1],
        straights,
        _visits(walk, laps, passes, rest_from),
        tail,
        rest,
        len(passes) - 1,
        begin,
        rest_after,
    )


def _lap_begin(walk: Walk, laps: Laps, mean: Array, count: Array) -> int | None:
    """The middle of the first straight that is long enough, on ground that is run again."""
    upto = int(laps.again[0]) + 1
    low, high = laps.first + LEAVES_M / EVEN_M, laps.first + len(laps.again) - 1 - LEAVES_M / EVEN_M
    found = []
    for one in _straights(walk, mean[:upto], count[:upto]):
        first, last = max(one.first, low, START_M / EVEN_M), min(one.last, high)
        found.append((last - first, int((first + last) / 2)))
    long = [pair for pair in found if pair[0] * EVEN_M >= 2 * LEAVES_M]
    size, middle = long[0] if long else max(found)
    return middle if size * EVEN_M >= LEAVES_M else None


def _as_first(laps: Laps, number: float, times: int) -> float:
    """Which number of the first lap is this place of a later one?"""
    firsts = np.arange(laps.first, laps.first + len(laps.again))
    for _ in range(times):
        number = float(np.interp(number, laps.again, firsts))
    return number


def _as_later(laps: Laps, number: float, times: int) -> float:
    firsts = np.arange(laps.first, laps.first + len(laps.again))
    for _ in range(times):
        number = float(np.interp(number, firsts, laps.again))
    return number


def _visits(walk: Walk, laps: Laps, passes: list[float], rest_from: int) -> list[_Visit]:
    """Every lap, the piece of one before the rest, and the rest."""
    first = np.arange(0.0, round(passes[1]) + 1)
    found = [_Visit(first, first)]
    ends = [*passes[2:], float(rest_from)]
    for lap, (begin, end) in enumerate(zip(passes[1:], ends, strict=True), start=1):
        numbers = np.arange(round(begin), round(end) + 1, dtype=float)
        if len(numbers) > 1:
            as_first = np.array([_as_first(laps, number, lap) for number in numbers])
            found.append(_Visit(numbers, as_first, lap))
    rest = np.arange(rest_from, len(walk.points_m), dtype=float)
    return [*found, _Visit(rest, rest - rest_from, len(passes) - 1)]


def _fitted(walk: Walk, route: _Route, tightest_m: Mapping[int, float]) -> WatchCourse:
    begun = _begun(route.way_m, route.straights, route.lap_from)
    after = _begun(route.tail_m, route.rest, None) if route.rest else None
    rest_from = begun.turns[route.rest_after] if route.rest_after >= 0 else -1
    rest = after.bits if after else ()
    plan = Plan(begun.bits, rest, begun.lap_at, rest_from)
    found_m = begun.begins_m, after.begins_m if after else np.zeros(1)
    last = len(route.visits) - 1
    seen = tuple(
        Seen(
            walk.points_m[visit.numbers.astype(int)],
            visit.as_first * EVEN_M,
            _weights(visit.numbers, route.straights[0]),
            after_lap=bool(rest) and k == last,
        )
        for k, visit in enumerate(route.visits)
    )
    # What wanders over WANDERS_OVER_M and grows so fast is so far off.
    spread_m = max(0.5, float(np.sqrt(walk.wander_m2_m * WANDERS_OVER_M / 2)))
    first = np.array([*_foot(route.straights[0], walk.points_m[0]), begun.heading_rad])
    done = Fit(plan, first, seen, spread_m).fitted(found_m, tightest_m)
    course = WatchCourse(done.chain, done.rest, route.laps, begun.lap_at, rest_from, np.zeros(0))
    return replace(course, along_m=_along_m(walk, route, course, done))


def _along_m(walk: Walk, route: _Route, course: WatchCourse, done: Fitted) -> Array:
    """How far along the whole course does every point of the walk lie?"""
    along = np.zeros(len(walk.points_m))
    begins = done.chain.begins_m
    lap_m = 0.0 if course.lap_at is None else begins[-1] - begins[course.lap_at]
    for k, (visit, place) in enumerate(zip(route.visits, done.along_m, strict=True)):
        before = visit.lap * lap_m
        if done.rest and k == len(route.visits) - 1:
            back = course.rest_from + 1 if course.rest_from >= 0 else course.lap_at
            before += begins[back]
        along[visit.numbers.astype(int)] = before + place
    return np.asarray(np.maximum.accumulate(along))


def _straights(walk: Walk, points: Array, weight: Array) -> list[Straight]:
    found = straights_of(points, weight, walk.wander_m2_m * EVEN_M)
    return _without_slight(_one_start(found))


def _one_start(straights: list[Straight]) -> list[Straight]:
    """The start is one straight: what bends a little within it goes the way of what follows."""
    while len(straights) > 1 and straights[0].last * EVEN_M < START_M:
        if abs(_bend(straights[0], straights[1])) > BOW_RAD:
            break
        second = straights[1]
        straights = [replace(second, first=straights[0].first), *straights[2:]]
    return straights


def _without_slight(straights: list[Straight]) -> list[Straight]:
    """Straights that hardly differ become one, the most alike first."""
    while len(straights) > 1:
        bends = [abs(_bend(*pair)) for pair in pairwise(straights)]
        k = int(np.argmin(bends))
        if bends[k] >= LEAST_BEND_RAD:
            break
        one, other = straights[k : k + 2]
        sizes = np.array([one.last - one.first, other.last - other.first], dtype=float)
        step = (sizes[0] * one.step_m + sizes[1] * other.step_m) / sizes.sum()
        straights[k : k + 2] = [replace(one, last=other.last, step_m=step, middle_m=(one.middle_m + other.middle_m) / 2)]
    return straights


def _bend(one: Straight, other: Straight) -> float:
    """By how much the way turns between two straights, positive to the left.

    Of a hairpin the angle alone does not say to which side: that is where the way back lies.
    """
    bend = float((other.heading_rad - one.heading_rad + np.pi) % (2 * np.pi) - np.pi)
    if abs(bend) > HAIRPIN_RAD:
        x, y = one.step_m
        aside = np.array([-y, x]) @ (other.middle_m - one.middle_m)
        if aside * bend < 0:
            bend -= np.sign(bend) * 2 * np.pi
    return bend


@dataclass(frozen=True)
class _Begun:
    """Bits to begin with, the metres of the walk at which they begin and the last one ends, (B + 1,).

    lap_at: the bit with which the lap begins. turns: which bit is the turn before every straight. heading_rad: of
    the first straight.
    """

    bits: tuple[Bit, ...]
    begins_m: Array
    lap_at: int | None
    turns: dict[int, int]
    heading_rad: float


def _begun(points: Array, straights: Sequence[Straight], lap_from: int | None) -> _Begun:
    ends, radius = _corners(points, straights)
    way = ends[:, 1] - ends[:, 0]
    heading = np.arctan2(way[:, 1], way[:, 0])
    bits: list[Bit] = []
    begins, lap_at, turns = [0.0], None, {}
    for k, one in enumerate(straights):
        if k:
            bend = float((heading[k] - heading[k - 1] + np.pi) % (2 * np.pi) - np.pi)
            bend += 2 * np.pi * round((_bend(straights[k - 1], one) - bend) / (2 * np.pi))
            turns[k] = len(bits)
            bits.append(Bit(bend_rad=bend or LEAST_BEND_RAD, radius_m=radius[k]))
            begins.append(one.first * EVEN_M)
        length = float(np.hypot(*way[k])) - _cut_m(straights, radius, k)
        length = max(2.0, length - _cut_m(straights, radius, k + 1))
        if lap_from is not None and lap_at is None and one.first < lap_from < one.last:
            share = (lap_from - one.first) / (one.last - one.first)
            bits.append(Bit(max(1.0, share * length)))
            begins.append(lap_from * EVEN_M)
            lap_at, length = len(bits), max(1.0, (1 - share) * length)
        bits.append(Bit(length))
        begins.append(one.last * EVEN_M)
    return _Begun(tuple(bits), np.array(begins), lap_at, turns, float(heading[0]))


def _cut_m(straights: Sequence[Straight], radius: Array, k: int) -> float:
    """How much of a straight the arc between it and the one before, or after, takes."""
    if not 0 < k < len(straights):
        return 0.0
    bend = abs(_bend(straights[k - 1], straights[k]))
    return 0.0 if bend >= HAIRPIN_RAD else float(radius[k] * np.tan(bend / 2))


def _corners(points: Array, straights: Sequence[Straight]) -> tuple[Array, Array]:
    """Where every straight begins and ends, were there no arcs (S, 2, 2), and the radius of the turn before it.

    Two straights meet where their lines cross; of those that hardly bend, or come back, at the points between.
    """
    ends = np.zeros((len(straights), 2, 2))
    radius = np.full(len(straights), USUAL_RADIUS_M)
    ends[0, 0], ends[-1, 1] = _foot(straights[0], points[straights[0].first]), _foot(
        straights[-1], points[straights[-1].last]
    )
    for k, (one, other) in enumerate(pairwise(straights), start=1):
        between = points[one.last : other.first + 1].mean(axis=0)
        bend = abs(_bend(one, other))
        corner = _crossing(one, other) if CROSSES_RAD < bend < HAIRPIN_RAD else between
        ends[k - 1, 1], ends[k, 0] = corner, corner
        if bend >= HAIRPIN_RAD:
            tip = points[(one.last + other.first) // 2]
            into, out = _foot(one, tip), _foot(other, tip)
            radius[k] = np.clip(np.hypot(*(out - into)) / 2, 4.0, 30.0)
            ends[k - 1, 1] = into - radius[k] * one.step_m / np.hypot(*one.step_m)
            ends[k, 0] = out + radius[k] * other.step_m / np.hypot(*other.step_m)
        elif bend < BOW_RAD:
            radius[k] = BOW_RADIUS_M
    return ends, radius


def _foot(straight: Straight, point: Array) -> Array:
    """The point of a straight's line that is nearest."""
    unit = straight.step_m / np.hypot(*straight.step_m)
    return np.asarray(straight.middle_m + unit * (unit @ (point - straight.middle_m)))


def _crossing(one: Straight, other: Straight) -> Array:
    ways = np.stack([one.step_m, -other.step_m], axis=1)
    share = np.linalg.solve(ways, other.middle_m - one.middle_m)
    return np.asarray(one.middle_m + share[0] * one.step_m)


def _weights(numbers: Array, start: Straight) -> Array:
    """How much every point counts: hardly, where somebody still comes from a box beside the middle."""
    weight = np.ones(len(numbers))
    if start.last * EVEN_M > START_M + SEEN_BEHIND_M:
        weight[numbers * EVEN_M < START_M] = 0.05
    return weight
