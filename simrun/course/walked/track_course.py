"""A recorded way becomes a course as people draw one: straights, turns, and laps that close."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simrun.course.walked.track_begun import begun_of, foot_m
from simrun.course.walked.track_chain import Bit, Chain
from simrun.course.walked.track_fit import WANDERS_OVER_M, Fit, Fitted, Plan, Seen
from simrun.course.walked.track_laps import laps_of
from simrun.course.walked.track_route import START_M, Route, lapped, once
from simrun.course.walked.track_straights import Straight
from simrun.course.walked.track_walk import EVEN_M, Walk

Array = NDArray[np.float64]

SEEN_BEHIND_M = 60.0
"""The start's own points hardly count where so much of its straight lies behind them."""

NOTHING: Mapping[int, float] = {}


@dataclass(frozen=True)
class WatchCourse:
    """The course that a watch saw: straights and turns to the end of the first lap, what is run again,
    the rest.

    lap_at: the bit with which the lap begins; laps: how often it is run; rest_from: the last bit of the
    lap that is run once more before the rest (-1: none). along_m (P,): how far along the whole course
    every point of the walk lies.
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
        """Does every point of the walk lie on the rest, and how far along the rest or else the chain?
        (P,) twice."""
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

    tightest_m: how tight the middle of a turn may be, by its number among those of the chain and the
    rest.

    Check: tests/unit/course/test_watch_course.py, tests/journeys/test_watch_tracks.py.
    """
    laps = laps_of(walk.points_m)
    route = lapped(walk, laps) if laps else None
    return _fitted(walk, route or once(walk), tightest_m)


def _fitted(walk: Walk, route: Route, tightest_m: Mapping[int, float]) -> WatchCourse:
    begun = begun_of(route.way_m, route.straights, route.lap_from)
    after = begun_of(route.tail_m, route.rest, None) if route.rest else None
    rest_from = begun.turns[route.rest_after] if route.rest_after >= 0 else -1
    rest = after.bits if after else ()
    plan = Plan(begun.bits, rest, begun.lap_at, rest_from)
    found_m = begun.begins_m, after.begins_m if after else np.zeros(1)
    last = len(route.visits) - 1
    seen = tuple(
        Seen(
            walk.points_m[visit.numbers.astype(int)],
            visit.as_first * EVEN_M,
            _weights(visit.numbers, route.straights[0]) * walk.sure[visit.numbers.astype(int)],
            after_lap=bool(rest) and k == last,
        )
        for k, visit in enumerate(route.visits)
    )
    # What wanders over WANDERS_OVER_M and grows so fast is so far off.
    spread_m = max(0.5, float(np.sqrt(walk.wander_m2_m * WANDERS_OVER_M / 2)))
    first = np.array([*foot_m(route.straights[0], walk.points_m[0]), begun.heading_rad])
    done = Fit(plan, first, seen, spread_m).fitted(found_m, tightest_m)
    course = WatchCourse(done.chain, done.rest, route.laps, begun.lap_at, rest_from, np.zeros(0))
    return replace(course, along_m=_along_m(walk, route, course, done))


def _along_m(walk: Walk, route: Route, course: WatchCourse, done: Fitted) -> Array:
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


def _weights(numbers: Array, start: Straight) -> Array:
    """How much every point counts: hardly, where somebody still comes from a box beside the middle."""
    weight = np.ones(len(numbers))
    if start.last * EVEN_M > START_M + SEEN_BEHIND_M:
        weight[numbers * EVEN_M < START_M] = 0.05
    return weight
