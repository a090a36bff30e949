"""How long is a way through the course, and where does it cross every cut?"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simrun.course.string import cuts_of, first_bend, string_path
from simrun.course.strip import MEASURING_MARGIN_M, Side, Strip

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """One way through the course, M cuts from its beginning to its end.

    cut (M,): the cuts it crosses; point_m (M, 2): where; share (M,): of the width (0 left, 1 right);
    along_m (M,): metres run since its beginning.
    """

    cut: NDArray[np.int64]
    point_m: Array
    share: Array
    along_m: Array

    @property
    def length_m(self) -> float:
        """How many metres is it from end to end?"""
        return float(self.along_m[-1])


def plain_margins(width_m: Array, margin_m: float = MEASURING_MARGIN_M) -> tuple[Array, Array]:
    """The measuring margin at both ends of every cut, never more than half its width: (K,), (K,)."""
    margin = np.minimum(margin_m, width_m / 2)
    return margin, margin.copy()


def margins_with(strip: Strip, inside_m: dict[str, float]) -> tuple[Array, Array]:
    """The margins of a way that keeps an offset in metres from the inside at named turns."""
    left, right = plain_margins(strip.width_m)
    for gate in strip.gates:
        offset = inside_m.get(gate.name)
        if offset is None or gate.inside == Side.NONE:
            continue
        margin = left if gate.inside == Side.LEFT else right
        covered = slice(gate.first_cut, gate.last_cut + 1)
        room = strip.width_m[covered] - np.minimum(MEASURING_MARGIN_M, strip.width_m[covered] / 2)
        margin[covered] = np.clip(offset, margin[covered], room)
    return left, right


def shortest_line(strip: Strip, start_m: tuple[float, float] = (0.0, 0.0)) -> Line:
    """The shortest way to the finish from a point of the start area, 0.30 m off every corner.

    Check: tests/validation/test_geometry.py (400 m track, S-bends, funnel to a throat).
    """
    return line_through(strip, {}, start_m)


def line_through(
    strip: Strip,
    inside_m: dict[str, float],
    start_m: tuple[float, float] = (0.0, 0.0),
    last_cut: int | None = None,
) -> Line:
    """The way that keeps `inside_m` metres off the inside at the named turns, else the shortest."""
    cuts = cuts_of(strip.left_m, strip.right_m)
    last = strip.finish_cut if last_cut is None else last_cut
    left, right = margins_with(strip, inside_m)
    return trace(cuts, left, right, start_m, last)


Bend = tuple[float, float, int]
"""A place and its cut."""


class Strings:
    """The stretched strings through one chain of cuts with these margins, from wherever they begin.

    Compiled where the compiler is loaded anyway; else the same lines in plain Python, which is sooner done
    than loading it, and remembers how it goes on from a bend that another string came to. Not a bit differs.
    Check: tests/unit/course/test_string.py.
    """

    def __init__(self, cuts: NDArray[np.void], margin_left: Array, margin_right: Array) -> None:
        self.cuts, self.margins = cuts, (margin_left, margin_right)
        self._known: dict[tuple[Bend, int], Bend] = {}
        self._plain: tuple[Any, ...] | None = None

    def bends(
        self, start_m: tuple[float, float], cell: int, last: int
    ) -> tuple[Array, NDArray[np.int64]]:
        """As `string_path`: points (B, 2) and their cuts (B,)."""
        if "numba" in sys.modules:
            return string_path(*start_m, cell, last, self.cuts, *self.margins)
        return self.plain_bends(start_m, cell, last)

    def plain_bends(
        self, start_m: tuple[float, float], cell: int, last: int
    ) -> tuple[Array, NDArray[np.int64]]:
        """The same, without the compiler."""
        place: Bend = (float(start_m[0]), float(start_m[1]), cell)
        found = [place]
        while place[2] < last:
            place = self._after(place, last)
            found.append(place)
        return np.array([p[:2] for p in found]), np.array([p[2] for p in found])

    def _after(self, place: Bend, last: int) -> Bend:
        """The next bend on the way to this cut: where a string is cut off decides what it bends about."""
        if (place, last) not in self._known:
            if self._plain is None:
                cuts = [PlainCut(*row) for row in self.cuts[list(PlainCut._fields)].tolist()]
                self._plain = (cuts, *(margin.tolist() for margin in self.margins))
            law: Any = getattr(first_bend, "__wrapped__", first_bend)
            self._known[place, last] = law(*place, last, *self._plain, None, 0.0)
        return self._known[place, last]


class PlainCut(NamedTuple):
    """One cut as plain numbers, named as in CUT_LINE."""

    left_x: float
    left_y: float
    right_x: float
    right_y: float
    unit_x: float
    unit_y: float
    width_m: float
    middle_x: float
    middle_y: float


def trace(
    cuts: NDArray[np.void],
    margin_left: Array,
    margin_right: Array,
    start_m: tuple[float, float],
    last: int,
) -> Line:
    """The stretched string from `start_m` to the cut `last`, as a Line."""
    return traced(Strings(cuts, margin_left, margin_right), start_m, last)


def traced(strings: Strings, start_m: tuple[float, float], last: int) -> Line:
    """One string of several."""
    cuts = strings.cuts
    cell = cell_of(cuts, start_m)
    points, bends = strings.bends(start_m, cell, last)
    crossed = np.arange(cell + 1, last + 1)
    piece = np.searchsorted(bends, crossed, side="left") - 1
    a, b = points[piece], points[piece + 1]
    forward = np.stack([-cuts["unit_y"][crossed], cuts["unit_x"][crossed]], axis=1)
    middle = np.stack([cuts["middle_x"][crossed], cuts["middle_y"][crossed]], axis=1)
    behind = ((middle - a) * forward).sum(axis=1)
    ahead = ((b - middle) * forward).sum(axis=1)
    total = np.where(behind + ahead == 0, 1.0, behind + ahead)
    point = a + (b - a) * (behind / total)[:, None]
    path = np.vstack([start_m, point])
    along = np.cumsum(np.hypot(*np.diff(path, axis=0).T))
    left = np.stack([cuts["left_x"][crossed], cuts["left_y"][crossed]], axis=1)
    unit = np.stack([cuts["unit_x"][crossed], cuts["unit_y"][crossed]], axis=1)
    share = ((point - left) * unit).sum(axis=1) / cuts["width_m"][crossed]
    return Line(crossed, point, share, along)


def cell_of(cuts: NDArray[np.void], point_m: tuple[float, float]) -> int:
    """Which of the first cells, counted from behind the line, holds this point of the start area?"""
    ahead = -cuts["unit_y"] * (point_m[0] - cuts["middle_x"]) + cuts["unit_x"] * (
        point_m[1] - cuts["middle_y"]
    )
    behind = np.flatnonzero(ahead < 0)
    return max(int(behind[0]) - 1, 0) if len(behind) else len(cuts) - 2
