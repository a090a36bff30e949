"""Where along the course is time lost? Standing, the straights, the tapers, the narrowings, every turn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Gate, Strip
from simrun.state.account import Passed, passed_at
from simrun.state.recording import Recording

Array = NDArray[np.float64]

FIRST_STRIDE_M = 1.0
"""What is lost before the first metre is run is lost standing."""

BESIDE_M = 15.0
"""A turn or a gate costs from so far before it, where runners brake, to so far after it, where they have
gathered speed again (assumed)."""

SAME_WIDTH_SHARE = 1.05
"""No wider than this is as narrow as the narrowing."""


@dataclass(frozen=True)
class CoursePlace:
    """One part of the course. kind: standing, straight, taper, narrowing, turn or after.

    from_m, to_m: along the measured line (standing: of nobody in particular). width_m: the narrowest.
    area_m2: of the ground. lap: how often it has been run.
    """

    name: str
    kind: str
    from_m: float
    to_m: float
    width_m: float = np.nan
    area_m2: float = np.nan
    lap: int = 1


@dataclass(frozen=True)
class LostByPlace:
    """Seconds lost on every one of P places by N runners; the rows of a part add up to the whole.

    box_s, line_s, traffic_s, racing_s (N, P): nan from the place on that a runner did not get through.
    passed: when everybody came to the ends of the places, (N, P + 1).
    """

    places: tuple[CoursePlace, ...]
    box_s: Array
    line_s: Array
    traffic_s: Array
    racing_s: Array
    passed: Passed


def lost_by_place(recording: Recording, until_m: float | None = None) -> LostByPlace:
    """On which places of the course did everybody lose their seconds? until_m: where the study ends.

    Formula: of each part what it is at the end of a place less what it was at its beginning, so that the
    places add up to the part at the end. Standing is what is lost before the first metre is run.
    Check: tests/properties/test_account_adds_up.py.
    """
    places = course_places(recording.strip, until_m)
    ends = np.array([*(place.from_m for place in places[1:]), places[-1].to_m])
    starts = recording.tracks.start_m[0]
    first = starts + FIRST_STRIDE_M
    bounds = np.concatenate([starts[:, None], np.maximum(first[:, None], ends)], axis=1)
    passed = passed_at(recording, np.minimum(bounds, ends[-1]))
    passed.field_s[:, 0] = 0.0
    for alone in (passed.own_s, passed.shortest_s, passed.best_s, passed.raced_s):
        alone[:, 0] = 0.0
    return LostByPlace(
        places,
        np.diff(passed.shortest_s - passed.best_s),
        np.diff(passed.own_s - passed.shortest_s),
        np.diff(passed.field_s - passed.raced_s),
        np.diff(passed.raced_s - passed.own_s),
        passed,
    )


def course_places(strip: Strip, until_m: float | None = None) -> tuple[CoursePlace, ...]:
    """The whole course to the last mark, or to until_m, place by place; standing comes first."""
    last_m = strip.checkpoints[-1].station_m
    end_m = last_m if until_m is None else min(until_m, last_m)
    named = [place for gate in strip.gates for place in _of_gate(strip, gate)]
    whole = list(_filled(strip, named, end_m))
    return (CoursePlace("standing", "standing", 0.0, 0.0), *_measured(strip, whole))


def _of_gate(strip: Strip, gate: Gate) -> Iterator[CoursePlace]:
    """A turn as it is; of a throat the ground that narrows to it, and that which stays so narrow."""
    first, last = float(strip.station_m[gate.first_cut]), float(strip.station_m[gate.last_cut])
    if gate.kind == "turn":
        yield CoursePlace(gate.name, "turn", first - BESIDE_M, last + BESIDE_M, lap=gate.lap)
        return
    begin = min(first - BESIDE_M, float(strip.station_m[_widens_before(strip, gate.first_cut)]))
    end = float(strip.station_m[_narrow_until(strip, gate.last_cut)])
    if end - last <= BESIDE_M or strip.width_m[gate.last_cut] > NARROW_M:
        yield CoursePlace(gate.name, "taper", begin, last + BESIDE_M * (end > last), lap=gate.lap)
        return
    yield CoursePlace(gate.name, "taper", begin, last, lap=gate.lap)
    narrow = strip.section_names[int(strip.section[gate.last_cut])]
    name = narrow if narrow != gate.name else f"{gate.name}, narrow"
    yield CoursePlace(name, "narrowing", last, end, lap=gate.lap)


NARROW_M = 6.0
"""Ground wider than this behind a throat is a straight, however long it stays so."""


def _widens_before(strip: Strip, cut: int) -> int:
    """The cut from which on the course narrows down to this one."""
    while cut > 0 and strip.width_m[cut - 1] > strip.width_m[cut] + 1e-6:
        cut -= 1
    return cut


def _narrow_until(strip: Strip, cut: int) -> int:
    """The last cut up to which the course stays as narrow as at this one."""
    most = strip.width_m[cut] * SAME_WIDTH_SHARE
    while cut + 1 < len(strip.width_m) and strip.width_m[cut + 1] <= most:
        cut += 1
    return cut


def _filled(strip: Strip, named: list[CoursePlace], end_m: float) -> Iterator[CoursePlace]:
    """The named places one after the other, none over another, and the straights between them."""
    at, before = 0.0, "start"
    for k, place in enumerate(named):
        begin = max(at, place.from_m)
        ahead = named[k + 1].from_m if k + 1 < len(named) else end_m
        to = min(end_m, max(begin, min(place.to_m, _middle(place, ahead))))
        if begin >= end_m or to <= begin:
            continue
        if begin > at:
            yield _between(strip, at, begin, before, place.name, place.lap)
        yield CoursePlace(place.name, place.kind, begin, to, lap=place.lap)
        at, before = to, place.name
    if at < end_m - 1e-9:
        kind = "after" if named else "straight"
        yield CoursePlace(_ground(strip, at, end_m), kind, at, end_m)


def _middle(place: CoursePlace, ahead_m: float) -> float:
    """Where a place ends whose next one begins before it is over: half-way; a narrowing at the next turn."""
    if place.kind == "narrowing":
        return min(place.to_m, ahead_m)
    return place.to_m if ahead_m >= place.to_m else 0.5 * (ahead_m + place.to_m)


def _between(
    strip: Strip, from_m: float, to_m: float, before: str, after: str, lap: int
) -> CoursePlace:
    name = _ground(strip, from_m, to_m)
    if len(strip.section_names) == 1:
        name = f"{before} to {after}"
    return CoursePlace(name, "straight", from_m, to_m, lap=lap)


def _ground(strip: Strip, from_m: float, to_m: float) -> str:
    """What the longest piece between is called."""
    inner = strip.station_m[(strip.station_m > from_m) & (strip.station_m < to_m)]
    ends = [from_m, *inner.tolist(), to_m]
    metres: dict[str, float] = {}
    for low, high in pairwise(ends):
        cell = int(np.searchsorted(strip.station_m, (low + high) / 2)) - 1
        name = strip.section_names[int(strip.section[min(cell, len(strip.section) - 1)])]
        metres[name] = metres.get(name, 0.0) + high - low
    return max(metres, key=lambda name: metres[name])


def _measured(strip: Strip, whole: list[CoursePlace]) -> Iterator[CoursePlace]:
    for place in whole:
        inner = strip.station_m[(strip.station_m > place.from_m) & (strip.station_m < place.to_m)]
        at = np.concatenate([[place.from_m], inner, [place.to_m]])
        width = np.interp(at, strip.station_m, strip.width_m)
        area = float(np.trapezoid(width, at))
        yield CoursePlace(
            place.name, place.kind, place.from_m, place.to_m, float(width.min()), area, place.lap
        )
