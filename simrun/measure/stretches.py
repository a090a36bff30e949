"""Which stretches does a coach talk about? The course from gun to finish, in the order of the race."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from simrun.course.strip import Strip

SHORTEST_M = 25.0
"""A shorter piece (a gateway, a corner) belongs to the stretch that it opens."""

PART = re.compile(r" \(\d+ of \d+\)$")
"""How a part of a long stretch is marked."""

LONGEST_M = 300.0
"""A longer one is told in equal parts."""


SAME_GROUND_M = 0.5
"""Laps come back to their beginning so nearly."""

LEAST_CLIMB_M = 0.5
"""Less than this up or down is no hill."""


@dataclass(frozen=True)
class Stretch:
    """One stretch of the measured line.

    name: of its pieces, or from mark to mark of a drawing. lap: how often this ground has been run.
    width_m: the narrowest. climb_m: the finish of it less its start. footing: the slowest share.
    """

    name: str
    from_m: float
    to_m: float
    width_m: float = np.inf
    climb_m: float = 0.0
    footing: float = 1.0
    lap: int = 1

    @property
    def length_m(self) -> float:
        """How long is it?"""
        return self.to_m - self.from_m


def stretches(strip: Strip) -> tuple[Stretch, ...]:
    """The whole course in stretches that follow one another. Check: tests/unit/measure/test_passing.py."""
    named = list(_pieces(strip) if len(strip.section_names) > 1 else _between_marks(strip))
    whole = [part for stretch in _merged(named) for part in _parts(stretch)]
    return tuple(_measured(strip, stretch) for stretch in _lapped(whole))


def _pieces(strip: Strip) -> Iterator[Stretch]:
    """One for every run of cells of the same piece."""
    ends = np.flatnonzero(np.diff(strip.section)) + 1
    cuts = [0, *ends.tolist(), len(strip.section)]
    for first, last in pairwise(cuts):
        low = max(0.0, float(strip.station_m[first]))
        high = min(strip.length_m, float(strip.station_m[last]))
        if high > low:
            yield Stretch(strip.section_names[int(strip.section[first])], low, high)


def _between_marks(strip: Strip) -> Iterator[Stretch]:
    """From gate to gate and landmark to landmark, where a drawing names no pieces."""
    marks = [(g.name, float(strip.station_m[g.first_cut])) for g in strip.gates]
    marks += [(mark.name, mark.station_m) for mark in strip.landmarks]
    inner = sorted((at, name) for name, at in marks if 0 < at < strip.length_m)
    ends = [(0.0, "start"), *inner, (strip.length_m, "finish")]
    for (low, name), (high, after) in pairwise(ends):
        yield Stretch(f"{name} to {after}", low, high)


def _merged(named: list[Stretch]) -> Iterator[Stretch]:
    """Short ones put together with what follows; the last with what came before."""
    kept: list[Stretch] = []
    waiting: Stretch | None = None
    for stretch in named:
        joined = _joined(waiting, stretch) if waiting else stretch
        waiting = joined if joined.length_m < SHORTEST_M else None
        if waiting is None:
            kept.append(joined)
    if waiting and kept:
        kept[-1] = replace(kept[-1], to_m=waiting.to_m)
    return iter(kept or ([waiting] if waiting else []))


def _joined(one: Stretch, other: Stretch) -> Stretch:
    first, _, _ = one.name.partition(" to ")
    _, link, last = other.name.partition(" to ")
    name = f"{first} to {last}" if link and " to " in one.name else f"{one.name}, {other.name}"
    return Stretch(name, one.from_m, other.to_m)


def _parts(stretch: Stretch) -> Iterator[Stretch]:
    count = int(np.ceil(stretch.length_m / LONGEST_M - 1e-9))
    ends = np.linspace(stretch.from_m, stretch.to_m, count + 1)
    for number, (low, high) in enumerate(pairwise(ends), start=1):
        name = f"{stretch.name} ({number} of {count})" if count > 1 else stretch.name
        yield Stretch(name, float(low), float(high))


def at_most(
    found: Sequence[Stretch], most: int, unlike: Callable[[Stretch, Stretch], float]
) -> tuple[Stretch, ...]:
    """So many stretches at most: neighbours that are least unlike are told as one, the first never.

    unlike: how much two neighbours differ, as they stand by then. Nothing is lost: the ends stay the ends.
    Check: tests/unit/measure/test_passing.py.
    """
    kept = list(found)
    while len(kept) > max(most, 2):
        pairs = [(unlike(kept[k], kept[k + 1]), k) for k in range(1, len(kept) - 1)]
        _, k = min(pairs)
        kept[k : k + 2] = [_as_one(kept[k], kept[k + 1])]
    return tuple(kept)


def _as_one(one: Stretch, other: Stretch) -> Stretch:
    """Both, called from the first to the last of them."""
    first, last = PART.sub("", one.name), PART.sub("", other.name)
    begin, end = first.split(" to ")[0].split(", ")[0], last.split(" to ")[-1].split(", ")[-1]
    return Stretch(
        begin if begin == end else f"{begin} to {end}",
        one.from_m,
        other.to_m,
        min(one.width_m, other.width_m),
        one.climb_m + other.climb_m,
        min(one.footing, other.footing),
        max(one.lap, other.lap),
    )


def _lapped(whole: list[Stretch]) -> Iterator[Stretch]:
    """The same name again is the next lap over the same ground."""
    times: dict[str, int] = {}
    for stretch in whole:
        times[stretch.name] = times.get(stretch.name, 0) + 1
        yield replace(stretch, lap=times[stretch.name])


def _measured(strip: Strip, stretch: Stretch) -> Stretch:
    low, high = np.interp([stretch.from_m, stretch.to_m], strip.station_m, strip.height_m)
    inside = (strip.station_m >= stretch.from_m) & (strip.station_m <= stretch.to_m)
    ends = np.interp([stretch.from_m, stretch.to_m], strip.station_m, strip.width_m)
    cells = inside[:-1] & inside[1:]
    return replace(
        stretch,
        width_m=float(min([*strip.width_m[inside], *ends])),
        climb_m=float(high - low),
        footing=float(strip.footing[cells].min()) if cells.any() else 1.0,
    )


@dataclass(frozen=True)
class Hill:
    """Ground that goes up all the way, or down: climb_m is below zero where it drops."""

    from_m: float
    to_m: float
    climb_m: float
    first_cut: int
    last_cut: int


def hills(strip: Strip) -> tuple[Hill, ...]:
    """Where does the course climb and where does it drop, in the order of the race? Ground run again, once.

    Check: tests/unit/measure/test_passing.py (the bank of the farm race, by its file).
    """
    ways = np.sign(np.round(np.diff(strip.height_m), 6))
    ends = [0, *(np.flatnonzero(np.diff(ways)) + 1).tolist(), len(ways)]
    found: list[Hill] = []
    for first, last in pairwise(min(end, strip.finish_cut) for end in ends):
        climb = float(strip.height_m[last] - strip.height_m[first])
        if abs(climb) >= LEAST_CLIMB_M and not any(_same(strip, hill, first) for hill in found):
            low, high = (float(strip.station_m[cut]) for cut in (first, last))
            found.append(Hill(max(0.0, low), high, climb, first, last))
    return tuple(found)


def _same(strip: Strip, hill: Hill, first_cut: int) -> bool:
    """Does this ground begin where that hill does?"""
    begin, other = strip.middle_m[first_cut], strip.middle_m[hill.first_cut]
    return bool(np.hypot(*(begin - other)) < SAME_GROUND_M)
