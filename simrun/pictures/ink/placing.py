"""Where beside its place is a name written? One way for pictures of pixels and for charts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Box = tuple[int, int, int, int]
"""The first and the last pixel across, and up or down: (left, low, right, high) whichever way is up."""


GAP_PX = 3
"""Two texts stay so far apart."""


def overlap(one: Sequence[float], other: Sequence[float], gap: float = GAP_PX) -> bool:
    """Do two boxes come nearer than `gap` pixels?"""
    apart_across = one[2] + gap <= other[0] or other[2] + gap <= one[0]
    apart_along = one[3] + gap <= other[1] or other[3] + gap <= one[1]
    return not (apart_across or apart_along)


def box_at(spot: Array, extent: Array, way: Array) -> Box:
    """The box of a text that lies on the side of its place to which `way` points, `way` away from it."""
    wide, high = int(extent[0]), int(extent[1])
    sign_x, sign_y = (0 if abs(part) < 1e-3 else (1 if part > 0 else -1) for part in way)
    left = round(float(spot[0] + way[0]) + (sign_x - 1) * wide / 2)
    low = round(float(spot[1] + way[1]) + (sign_y - 1) * high / 2)
    return left, low, left + wide, low + high


def clearest(
    boxes: Iterable[Box], share_of: Callable[[Box], float], least: float, enough: float
) -> int | None:
    """The number of the first box that is clear enough, else of the clearest, or None below `least`.

    share_of: which share of a box is free; below nothing where the box may not be taken at all.
    """
    best, best_share = None, least - 1e-9
    for index, box in enumerate(boxes):
        share = share_of(box)
        if share > best_share:
            best, best_share = index, share
        if share >= enough:
            break
    return best
