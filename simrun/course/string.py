"""Where does the shortest way through a chain of cuts bend next? The stretched string.

Each cut is shortened at both ends by a margin; what is left is a portal. From a point, the portals
ahead narrow a cone of view; where the cone closes, the string bends about the end that closed it.
Left and right are treated alike, so a mirrored course gives the mirrored string to the last bit.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.compiled import compiled, compiled_with_arrays

Array = NDArray[np.float64]

TINY_M = 1e-12


CUT_LINE = np.dtype(
    [(name, np.float64) for name in ["left_x", "left_y", "right_x", "right_y", "unit_x", "unit_y"]]
    + [(name, np.float64) for name in ["width_m", "middle_x", "middle_y"]],
    align=True,
)
"""One cut as a line: its two ends, the unit vector from left to right, its width and its middle."""


def cuts_of(left_m: Array, right_m: Array) -> NDArray[np.void]:
    """The records (K,) of a chain of cuts given as (K, 2) edge points."""
    # A record array, so that plain Python reads fields as compiled code does.
    cuts = np.zeros(len(left_m), dtype=CUT_LINE).view(np.recarray)
    fill_cuts(cuts, left_m, right_m)
    return cuts


def fill_cuts(cuts: NDArray[np.void], left_m: Array, right_m: Array) -> None:
    """Write the lines of the cuts into records that have the fields of CUT_LINE."""
    across = right_m - left_m
    width = np.hypot(across[:, 0], across[:, 1])
    cuts["left_x"], cuts["left_y"] = left_m.T
    cuts["right_x"], cuts["right_y"] = right_m.T
    cuts["unit_x"], cuts["unit_y"] = (across / width[:, None]).T
    cuts["width_m"] = width
    cuts["middle_x"], cuts["middle_y"] = ((left_m + right_m) / 2).T


@compiled
def shifted_margins_m(
    left_m: float, right_m: float, gives_m: float, shift_m: float
) -> tuple[float, float]:
    """The margins of a cut for a string shifted to the right (below 0: left): it gives way on one side.

    Half of what is left of `gives_m` is given at most: on ground where there is no other line to take, on a
    boardwalk or at a gate, and where no string bends, that is nothing. Check:
    tests/unit/course/test_string.py.
    """
    room = 0.5 * (gives_m - (left_m + right_m))
    if room <= 0.0:
        return left_m, right_m
    if shift_m > 0.0:
        return left_m + min(shift_m, room), right_m
    return left_m, right_m + min(-shift_m, room)


@compiled
def first_bend(
    x: float,
    y: float,
    cell: int,
    last: int,
    cuts: Any,
    margin_left: Any,
    margin_right: Any,
    gives_m: Any,
    shift_m: float,
) -> tuple[float, float, int]:
    """Where does the string from (x, y) in `cell` bend first, before the cut `last`?

    margin_left, margin_right (K,): metres by which every cut is shortened; shift_m: how far to the right the
    whole string has been shifted, gives_m (K,): over how much of every cut it may be. Returns the point and
    its cut. Where the string does not bend, the point of the last cut nearest to straight on.
    Check: tests/unit/course/test_string.py against hand-drawn strings.
    """
    left_cut = right_cut = cell + 1
    left_x = left_y = right_x = right_y = 0.0
    for k in range(cell + 1, last + 1):
        left_m, right_m = margin_left[k], margin_right[k]
        if shift_m != 0.0:
            left_m, right_m = shifted_margins_m(left_m, right_m, gives_m[k], shift_m)
        ax = cuts[k].left_x + cuts[k].unit_x * left_m - x
        ay = cuts[k].left_y + cuts[k].unit_y * left_m - y
        bx = cuts[k].right_x - cuts[k].unit_x * right_m - x
        by = cuts[k].right_y - cuts[k].unit_y * right_m - y
        if k == cell + 1:
            left_x, left_y, right_x, right_y = ax, ay, bx, by
            continue
        if ax * left_y - ay * left_x >= 0.0 and abs(ax) + abs(ay) > TINY_M:
            if right_x * ay - right_y * ax < 0.0:
                return x + right_x, y + right_y, right_cut
            left_x, left_y, left_cut = ax, ay, k
        if right_x * by - right_y * bx >= 0.0 and abs(bx) + abs(by) > TINY_M:
            if bx * left_y - by * left_x < 0.0:
                return x + left_x, y + left_y, left_cut
            right_x, right_y, right_cut = bx, by, k
    unit_x, unit_y = cuts[last].unit_x, cuts[last].unit_y
    straight = -unit_y * (cuts[last].middle_x - x) + unit_x * (cuts[last].middle_y - y)
    on_x, on_y = -unit_y * straight, unit_x * straight
    if on_x * left_y - on_y * left_x < 0.0:
        return x + left_x, y + left_y, left_cut
    if right_x * on_y - right_y * on_x < 0.0:
        return x + right_x, y + right_y, right_cut
    return x + on_x, y + on_y, last


@compiled_with_arrays
def string_path(
    x: float, y: float, cell: int, last: int, cuts: Any, margin_left: Any, margin_right: Any
) -> tuple[Array, NDArray[np.int64]]:
    """The bends of the string from (x, y) to the cut `last`: points (B, 2) and their cuts (B,)."""
    points = np.empty((last - cell + 1, 2))
    bend_cuts = np.empty(last - cell + 1, np.int64)
    points[0, 0], points[0, 1], bend_cuts[0] = x, y, cell
    gives_m, count = np.zeros(len(margin_left)), 1
    while cell < last:
        x, y, cell = first_bend(x, y, cell, last, cuts, margin_left, margin_right, gives_m, 0.0)
        points[count, 0], points[count, 1], bend_cuts[count] = x, y, cell
        count += 1
    return points[:count], bend_cuts[:count]
