"""Where on the strip is a point? Cell, share of the way through it, and metres off its middle."""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled


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
def across_m(cuts: Any, cell: int, x: float, y: float) -> tuple[float, float, float, float, float]:
    """Through, aside, half: share of the way through the cell (0 to 1), metres right of the middle,
    half of the width there, and the unit vector across.

    The share through is the distance behind over the distances behind and ahead, both square to the
    cuts: continuous from cell to cell, and the same mirrored to the last bit.
    """
    behind = beyond_m(cuts, cell, x, y)
    ahead = -beyond_m(cuts, cell + 1, x, y)
    whole = behind + ahead
    through = 0.5 if whole <= 1e-12 else min(1.0, max(0.0, behind / whole))
    back = 1.0 - through
    middle_x = back * cuts[cell].middle_x + through * cuts[cell + 1].middle_x
    middle_y = back * cuts[cell].middle_y + through * cuts[cell + 1].middle_y
    wide_x = back * cuts[cell].unit_x * cuts[cell].width_m
    wide_x += through * cuts[cell + 1].unit_x * cuts[cell + 1].width_m
    wide_y = back * cuts[cell].unit_y * cuts[cell].width_m
    wide_y += through * cuts[cell + 1].unit_y * cuts[cell + 1].width_m
    width = math.hypot(wide_x, wide_y)
    unit_x, unit_y = wide_x / width, wide_y / width
    aside = (x - middle_x) * unit_x + (y - middle_y) * unit_y
    return through, aside, 0.5 * width, unit_x, unit_y
