"""Where on the strip is a point? Cell, share of the way through it, and metres off its middle."""

from __future__ import annotations

import math
from typing import Any

from simrun.base.compiled import compiled
from simrun.course.progress import beyond_m as beyond_m
from simrun.course.progress import cell_near as cell_near
from simrun.course.progress import through


@compiled
def across_m(cuts: Any, cell: int, x: float, y: float) -> tuple[float, float, float, float, float]:
    """Share of the way through the cell (0 to 1, see `through`), metres right of the middle, half of the
    width there, and the unit vector across."""
    share = through(cuts, cell, x, y)
    back = 1.0 - share
    middle_x = back * cuts[cell].middle_x + share * cuts[cell + 1].middle_x
    middle_y = back * cuts[cell].middle_y + share * cuts[cell + 1].middle_y
    wide_x = back * cuts[cell].unit_x * cuts[cell].width_m
    wide_x += share * cuts[cell + 1].unit_x * cuts[cell + 1].width_m
    wide_y = back * cuts[cell].unit_y * cuts[cell].width_m
    wide_y += share * cuts[cell + 1].unit_y * cuts[cell + 1].width_m
    width = math.hypot(wide_x, wide_y)
    unit_x, unit_y = wide_x / width, wide_y / width
    aside = (x - middle_x) * unit_x + (y - middle_y) * unit_y
    return share, aside, 0.5 * width, unit_x, unit_y
