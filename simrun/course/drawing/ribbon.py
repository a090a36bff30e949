"""Two edges that need not have matching points: where do the cross-cuts lie?

The chain of cuts is a way through the grid (point of the left edge, point of the right edge) that
never steps back on either edge. Of all such ways the one with the least integral of the squared cut
length over the metres run is taken (dynamic programming): cuts stand square to the course, and fan
about the inside of a turn. A step is allowed only if its cell is a convex four-sided or
three-sided piece of ground, so no two neighbouring cuts cross; and as the outline is simple
(checked before), cells that all lie the right way round tile it, so no two cuts cross at all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.course.drawing.ribbon_kernel import best_chain, convex_cell, needed_cuts

Array = NDArray[np.float64]
Index = NDArray[np.int64]

FINE_M = 0.25
"""Distance of the points between which cuts may be drawn, on courses up to FINE_POINTS of them."""

FINE_POINTS = 20_000
COARSE_M = 2.0
COARSE_CELLS = 4_000_000
FINE_CELLS = 20_000_000
"""The coarse search looks at no more pairs of points than COARSE_CELLS. The fine one looks near
what that found, and if no chain exists there, everywhere, unless these are too many pairs."""

SLANT_M = 1.0
DEAD_CORNER_DEG = 60.0
"""A step square to the course from both sides gets a metre of slant, as a mouth of pieces does."""

COLLINEAR_M = 0.001
LONGEST_CELL_M = 30.0
LARGEST_TURN_DEG = 5.0
"""A cut is left out only where the edges are straight within a millimetre, the next one is not
further than 30 m, and it is not turned by more than 5 degrees (a fan keeps its ribs)."""


@dataclass(frozen=True)
class Ribbon:
    """K cuts: their ends left_m, right_m (K, 2), and where on the drawn lines those lie.

    left_at, right_at (K,): number of the drawn point, and the share of the way to the next one.
    """

    left_m: Array
    right_m: Array
    left_at: Array
    right_at: Array


def join_edges(left_m: Array, right_m: Array, kept: tuple[Index, Index]) -> Ribbon:
    """Which cuts join these two edges, (A, 2) and (B, 2)? The first and the last join their ends.

    Every drawn point that is off the straight by more than 1 mm ends a cut, and so do the points
    numbered in `kept` (left, right). Where both edges step in square at the same place, as at a
    gate in a wall, their dead corners are cut off by a metre. Raises BadInput where an edge turns
    back so far that no chain of uncrossed cuts exists.
    Check: tests/unit/course/test_ribbon.py, tests/properties/test_drawn_roundtrip.py.
    """
    coarse_m = _coarse_step_m(left_m, right_m)
    guide = _coarse_way(left_m, right_m, coarse_m)
    try:
        left_at, right_at = _chain(left_m, right_m, guide, coarse_m)
    except BadInput:
        left_m, right_m = without_dead_corners(left_m, right_m, guide)
        left_at, right_at = _chain(left_m, right_m, guide, coarse_m)
    must_keep = np.isin(left_at, kept[0]) | np.isin(right_at, kept[1])
    whole = Ribbon(points_at(left_m, left_at), points_at(right_m, right_at), left_at, right_at)
    corner = _first_at_drawn_point(left_at) | _first_at_drawn_point(right_at)
    return thinned(whole, must_keep, corner)


def thinned(ribbon: Ribbon, must_keep: NDArray[np.bool_], corner: NDArray[np.bool_]) -> Ribbon:
    """The same ground with fewer cuts.

    must_keep (K,): cuts that stay. corner (K,): cuts with an end where an edge may bend; between
    them both edges are straight.
    """
    limits = (COLLINEAR_M, LONGEST_CELL_M, np.cos(np.deg2rad(LARGEST_TURN_DEG)))
    keep = needed_cuts(ribbon.left_m, ribbon.right_m, must_keep, corner, limits)
    rows = (ribbon.left_m, ribbon.right_m, ribbon.left_at, ribbon.right_at)
    return Ribbon(*(row[keep] for row in rows))


def _first_at_drawn_point(at: Array) -> NDArray[np.bool_]:
    """Which cuts are the first to end at a drawn point of this edge?"""
    return (at % 1 == 0) & np.append(True, np.diff(at) > 0)


def crossed_cell(left_m: Array, right_m: Array) -> int:
    """Which is the first cell whose cuts cross, or that is turned over? -1 if none is."""
    for k in range(len(left_m) - 1):
        if not convex_cell(left_m[k], right_m[k], left_m[k + 1], right_m[k + 1]):
            return k
    return -1


def points_at(line_m: Array, at: Array) -> Array:
    """The points (K, 2) of a polyline (A, 2) at point numbers with a share, (K,)."""
    number = np.arange(len(line_m), dtype=float)
    return np.stack([np.interp(at, number, line_m[:, axis]) for axis in (0, 1)], axis=1)


def points_at_m(line_m: Array, wanted_m: Array) -> Array:
    """The points (K, 2) of a polyline (A, 2) at metres along it, (K,)."""
    number = np.arange(len(line_m), dtype=float)
    return points_at(line_m, np.interp(wanted_m, along_m(line_m), number))


def along_m(line_m: Array) -> Array:
    """How many metres along a polyline (A, 2) is every point? (A,)"""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line_m, axis=0).T))])


def _chain(left_m: Array, right_m: Array, guide: Array, coarse_m: float) -> tuple[Array, Array]:
    """The finest chain near a coarse one. Raises BadInput where there is none."""
    fine_m = max(FINE_M, max(along_m(left_m)[-1], along_m(right_m)[-1]) / FINE_POINTS)
    left_at, right_at = _fine_points(left_m, fine_m), _fine_points(right_m, fine_m)
    left, right = points_at(left_m, left_at), points_at(right_m, right_at)
    stuck = 0
    everywhere = (np.inf,) if len(left) * len(right) <= FINE_CELLS else ()
    for margin_m in (2 * coarse_m, 16 * coarse_m, *everywhere):
        low, high = _band(along_m(left), along_m(right), guide, margin_m)
        way, stuck = best_chain(left, right, low, high, True)
        if len(way):
            return left_at[way[:, 0]], right_at[way[:, 1]]
    raise _no_chain(left[stuck], along_m(left)[stuck])


def _coarse_step_m(left_m: Array, right_m: Array) -> float:
    product = along_m(left_m)[-1] * along_m(right_m)[-1]
    return max(COARSE_M, float(np.sqrt(product / COARSE_CELLS)))


def without_dead_corners(left_m: Array, right_m: Array, guide: Array) -> tuple[Array, Array]:
    """The same edges with a metre of slant where they step in or out square to the course."""
    along = along_m(left_m), along_m(right_m)
    facing_right = points_at_m(right_m, np.interp(along[0], guide[:, 0], guide[:, 1]))
    facing_left = points_at_m(left_m, np.interp(along[1], guide[:, 1], guide[:, 0]))
    left = _slanted(left_m, left_m - facing_right, inward=-1.0)
    return left, _slanted(right_m, facing_left - right_m, inward=1.0)


def _slanted(line_m: Array, across: Array, inward: float) -> Array:
    """Move every corner in which nobody can run along the edge, until the step leads forward.

    across (A, 2): from the right edge to the left one at every point; inward: the sign of a turn
    of this edge toward the course.
    """
    moved = line_m.copy()
    for k in range(1, len(line_m) - 1):
        before, after = line_m[k] - line_m[k - 1], line_m[k + 1] - line_m[k]
        turn = np.arctan2(before[0] * after[1] - before[1] * after[0], before @ after) * inward
        if turn < np.deg2rad(DEAD_CORNER_DEG):
            continue
        ahead = np.array([across[k, 1], -across[k, 0]])
        steps_in = ahead @ after / np.hypot(*after) < ahead @ before / np.hypot(*before)
        run, wall = (-before, after) if steps_in else (after, -before)
        unit = run / np.hypot(*run)
        shift = max(0.0, SLANT_M + float(unit @ wall))
        if shift < np.hypot(*run):
            moved[k] = line_m[k] + shift * unit
    return moved


def _coarse_way(left_m: Array, right_m: Array, step_m: float) -> Array:
    """The best chain between evenly spaced points, as metres along both edges: (G, 2)."""
    even = [_even_points(line, step_m) for line in (left_m, right_m)]
    left, right = even[0][1], even[1][1]
    low = np.zeros(len(left), dtype=np.int64)
    way, _ = best_chain(left, right, low, low + len(right) - 1, False)
    return np.stack([even[0][0][way[:, 0]], even[1][0][way[:, 1]]], axis=1)


def _even_points(line_m: Array, step_m: float) -> tuple[Array, Array]:
    along = along_m(line_m)
    wanted = np.linspace(0.0, along[-1], max(2, int(np.ceil(along[-1] / step_m)) + 1))
    return wanted, points_at_m(line_m, wanted)


def _fine_points(line_m: Array, step_m: float) -> Array:
    """Every drawn point and evenly spaced ones between, as point numbers with a share."""
    parts = np.maximum(1, np.ceil(np.hypot(*np.diff(line_m, axis=0).T) / step_m)).astype(int)
    segment = np.repeat(np.arange(len(parts)), parts)
    first = np.repeat(np.cumsum(parts) - parts, parts)
    share = (np.arange(parts.sum()) - first) / parts[segment]
    return np.append(segment + share, float(len(line_m) - 1))


def _band(left_m: Array, right_m: Array, guide: Array, margin_m: float) -> tuple[Index, Index]:
    """Which points of the right edge may every point of the left edge be joined to?"""
    before = np.searchsorted(guide[:, 0], left_m - margin_m, side="right") - 1
    after = np.searchsorted(guide[:, 0], left_m + margin_m, side="left")
    last = len(guide) - 1
    low = np.searchsorted(right_m, guide[np.clip(before, 0, last), 1] - margin_m)
    high = np.searchsorted(right_m, guide[np.clip(after, 0, last), 1] + margin_m, side="right") - 1
    return low.astype(np.int64), high.astype(np.int64)


def _no_chain(point_m: Array, along: float) -> BadInput:
    found = f"an edge turns back, or both step in square, {along:.0f} m along the left one"
    where = f"{point_m[0]:.0f} m ahead of the start line and {point_m[1]:+.0f} m to its left"
    allowed = "edges run forward side by side; draw a step into a narrowing with a metre of slant"
    return BadInput(Problem("edges", f"{found} ({where})", allowed))
