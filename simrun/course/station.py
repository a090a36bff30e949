"""How far along the measured line is a body? The cell it is in, and the share of the way through it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.compiled import compiled, compiled_with_arrays
from simrun.course.string import cuts_of
from simrun.course.strip import Strip

Array = NDArray[np.float64]


@compiled
def beyond_m(cuts: Any, k: int, x: float, y: float) -> float:
    """How far past the cut `k` is the point, measured square to the cut? Negative: before it."""
    return -cuts[k].unit_y * (x - cuts[k].middle_x) + cuts[k].unit_x * (y - cuts[k].middle_y)


@compiled
def cell_near(cuts: Any, cell: int, x: float, y: float) -> int:
    """The cell a point is in, looked for from the cell in which it was last."""
    last = len(cuts) - 2
    while cell < last and beyond_m(cuts, cell + 1, x, y) >= 0.0:
        cell += 1
    while cell > 0 and beyond_m(cuts, cell, x, y) < 0.0:
        cell -= 1
    return cell


@compiled
def through(cuts: Any, cell: int, x: float, y: float) -> float:
    """The share of the way through the cell, 0 to 1: the distance behind over the distances behind and
    ahead, both square to the cuts. Continuous from cell to cell, and the same mirrored to the last bit."""
    behind = beyond_m(cuts, cell, x, y)
    ahead = -beyond_m(cuts, cell + 1, x, y)
    whole = behind + ahead
    return 0.5 if whole <= 1e-12 else min(1.0, max(0.0, behind / whole))


@compiled
def station_at_m(cuts: Any, station_m: Any, cell: int, x: float, y: float) -> float:
    """Metres along the measured line of a body in this cell; station_m (K,): of the cuts."""
    share = through(cuts, cell, x, y)
    return (1.0 - share) * station_m[cell] + share * station_m[cell + 1]


@compiled_with_arrays
def stations_m(cuts: Any, station_m: Any, bodies: Any) -> Any:
    """How far along the measured line is each of these bodies? (B,)"""
    found = np.empty(len(bodies))
    for i in range(len(bodies)):
        found[i] = station_at_m(cuts, station_m, bodies[i].cell, bodies[i].x, bodies[i].y)
    return found


@compiled_with_arrays
def _along(cuts: Any, station_m: Any, position_m: Any) -> Any:
    """The metres along of everybody at every moment, each looked for from the moment before: a lap is not
    mistaken for another."""
    found = np.full(position_m.shape[:2], np.nan)
    for i in range(position_m.shape[1]):
        cell = 0
        for f in range(position_m.shape[0]):
            x, y = float(position_m[f, i, 0]), float(position_m[f, i, 1])
            if x == x:
                cell = cell_near(cuts, cell, x, y)
                found[f, i] = station_at_m(cuts, station_m, cell, x, y)
    return found


def progress_m(strip: Strip, position_m: NDArray[Any]) -> Array:
    """How far along the measured line was everybody at every moment? (T, N) from places (T, N, 2); nan for
    who has left the course. Check: tests/unit/measure/test_account.py (the recorded times at every mark)."""
    cuts = cuts_of(strip.left_m, strip.right_m)
    return np.asarray(_along(cuts, np.ascontiguousarray(strip.station_m), position_m))
