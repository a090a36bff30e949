"""The place now of one runner of a batch: each counts for itself who is how far."""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled
from simrun.engine.kernel.places_now import bin_of, bins_in_reach
from simrun.state.arrays import RACES

UNTOLD = -1
"""The bin of a fixed body."""


@compiled
def note_bin(i: int, me: Any, ground: Any, last: int, bins: Any) -> None:
    """Write down in which bin of the course body `i` is; the last is for those past the end."""
    if me.fixed == 1:
        bins[i] = UNTOLD
    else:
        bins[i] = last if me.gone == 1 else bin_of(me, ground, last)


@compiled
def take_place(me: Any, ground: Any, last: int, bins: Any, settings: Any) -> None:
    """Tell somebody who races the place now, and how many are within a kick's reach of it."""
    if me.races != RACES:
        return
    behind, ahead, far = bins_in_reach(me, ground, last, settings)
    me.place = from_bin_on(ahead, bins) + 1
    me.in_reach = from_bin_on(behind, bins) - from_bin_on(far, bins) - 1


@compiled
def from_bin_on(least: int, bins: Any) -> int:
    """How many are in this bin or further on?"""
    count = 0
    for i in range(len(bins)):
        count += int(bins[i] >= least)
    return count
