"""Which arc, turned which way, makes the shortest ways from every box to a place equally long?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.course.route import Strings, plain_margins, traced
from simrun.course.start import (
    TAPE_M,
    TAPE_REACH_M,
    StartSpec,
    box_middles_m,
    middle_m,
    paint_m,
)
from simrun.course.string import cuts_of
from simrun.course.strip import Strip

Array = NDArray[np.float64]

LEAST_BOW_M = 1e-3
"""Less bow than this is a straight line."""

MOST_BOW_SHARE = 0.95
"""Of half the line's width: an arc bows no further."""

MOST_ROUNDS = 30

STEP = 1e-4
"""So small a change of degrees and metres tells which way is downhill; the ways are exact to less."""


def ways_m(strip: Strip, spec: StartSpec, last_cut: int, rows_behind: int = 0) -> Array:
    """How far is it to this cut from the middle of every box, so many rows behind the front? (B,)

    The shortest way as a wheel runs it. Check: tests/validation/test_geometry.py.
    """
    points = paint_m(spec, box_middles_m(spec), rows_behind * spec.row_gap_m)
    strings = Strings(cuts_of(strip.left_m, strip.right_m), *plain_margins(strip.width_m))
    return np.array([traced(strings, (float(x), float(y)), last_cut).length_m for x, y in points])


def equal_ways(strip: Strip, spec: StartSpec, last_cut: int, most_tilt_deg: float) -> StartSpec:
    """The same line as the arc, about its middle, that is nearest to equal ways to this cut.

    What is made least is the sum of squares, over the boxes, of `ways_m` less their mean, by tilt and bow
    (`nearest_to_nothing`), beginning where the middle of the first gate, or else of the cut, lies straight
    ahead.
    Check: tests/validation/test_aimed.py.
    """
    half = spec.width_m / 2
    begins_at = strip.gates[0].first_cut if strip.gates else last_cut
    bounds = ([-most_tilt_deg, LEAST_BOW_M], [most_tilt_deg, MOST_BOW_SHARE * half])
    begin = np.clip(_towards(spec, strip.middle_m[begins_at] - middle_m(spec)), *bounds)

    def off_m(tilt_and_bow: Array) -> Array:
        ways = ways_m(strip, bowed(spec, *tilt_and_bow), last_cut)
        return np.asarray(ways - ways.mean())

    return bowed(spec, *nearest_to_nothing(off_m, np.asarray(begin), *map(np.array, bounds)))


def nearest_to_nothing(
    off: Callable[[Array], Array], begin: Array, least: Array, most: Array
) -> Array:
    """The values (P,) between these bounds at which the sum of squares of `off` (R,) is least.

    Gauss and Newton's steps, each halved until it helps, with slopes by small differences: scipy's least
    squares finds the same and takes longer to load than all of `simrun check`. For a few values and a sum
    with one hollow. Check: tests/validation/test_aimed.py (against scipy's).
    """
    at, now = begin, off(begin)
    for _ in range(MOST_ROUNDS):
        small = STEP * np.maximum(1.0, np.abs(at)) * np.where(at < most - 1.0, 1.0, -1.0)
        slopes = np.stack(
            [(off(at + np.eye(len(at))[p] * small) - now) / small[p] for p in range(len(at))],
            axis=1,
        )
        step = -np.linalg.lstsq(slopes, now, rcond=None)[0]
        share, before = 1.0, at
        while share > STEP:
            there = np.clip(before + share * step, least, most)
            then = off(there)
            if then @ then < now @ now:
                at, now = there, then
                break
            share /= 2
        if (np.abs(at - before) <= STEP * (STEP + np.abs(at))).all():
            return at
    return at


FINISH = "finish"


def target_of(strip: Strip, at: str, key: str) -> tuple[str, int]:
    """The name of a gate as it is first come to, or "finish", and its cut; empty is the first gate.

    key: what asked for it. Raises BadInput for a name that is none.
    """
    known = {gate.name: gate.first_cut for gate in reversed(strip.gates)}
    if at == FINISH:
        return FINISH, strip.finish_cut
    name = at or strip.gates[0].name
    if name not in known:
        names = [*dict.fromkeys(gate.name for gate in strip.gates), FINISH]
        allowed = "one of " + ", ".join(names)
        raise BadInput(Problem(key, repr(at), allowed, nearest_word(at, names)))
    return name, known[name]


def aimed_line(strip: Strip, spec: StartSpec, last_cut: int, most_tilt_deg: float) -> StartSpec:
    """`equal_ways` as a crew lays it out: the point to 0.1 m, the tilt to what a tape reads.

    A race day is read many times over in a study, so the last few lines are kept.
    """
    found = _kept(_Ground(strip), spec, last_cut, most_tilt_deg)
    return replace(found, aim_m=round(found.aim_m or 0.0, 1), tilt_deg=_taped_deg(found.tilt_deg))


class _Ground:
    """A course that is the same as another where its edges are, and so are its gates."""

    def __init__(self, strip: Strip) -> None:
        self.strip = strip
        self.told = strip.left_m.tobytes(), strip.right_m.tobytes(), strip.gates

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Ground) and self.told == other.told

    def __hash__(self) -> int:
        return hash(self.told[:2])


@lru_cache(maxsize=32)
def _kept(ground: _Ground, spec: StartSpec, last_cut: int, most_tilt_deg: float) -> StartSpec:
    return equal_ways(ground.strip, spec, last_cut, most_tilt_deg)


def _taped_deg(tilt_deg: float) -> float:
    """The angle nearest to this that a crew lays out: whole centimetres aside over a long tape."""
    aside_m = round(TAPE_REACH_M * float(np.tan(np.radians(tilt_deg))) / TAPE_M) * TAPE_M
    return round(float(np.degrees(np.arctan(aside_m / TAPE_REACH_M))), 4) + 0.0


def bowed(spec: StartSpec, tilt_deg: float, bow_m: float) -> StartSpec:
    """The same line on an arc whose ends lie so far ahead of its middle, turned to the left."""
    aim_m = (bow_m**2 + (spec.width_m / 2) ** 2) / (2 * bow_m)
    return replace(spec, shape="arc", aim_m=float(aim_m), tilt_deg=float(tilt_deg))


def _towards(spec: StartSpec, point_m: Array) -> tuple[float, float]:
    """Tilt and bow of the arc about a point, seen from the middle of the line."""
    away = float(np.hypot(*point_m))
    bow = away - np.sqrt(max(0.0, away**2 - (spec.width_m / 2) ** 2))
    return float(np.degrees(np.arctan2(point_m[1], point_m[0]))), float(bow)
