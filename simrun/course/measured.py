"""Where is every cut along the measured line, and which gate covers it?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.course.route import plain_margins, trace
from simrun.course.string import cuts_of
from simrun.course.strip import Gate

Array = NDArray[np.float64]


def measured_stations(left_m: Array, right_m: Array, last: int) -> tuple[Array, int]:
    """How far along the measured line is every cut, (K,), and which cut is the finish?

    The measured line is the shortest way from the middle of the start line, 0.30 m off every corner.
    """
    cuts = cuts_of(left_m, right_m)
    margins = plain_margins(cuts["width_m"])
    line = trace(cuts, *margins, (0.0, 0.0), last)
    station = np.empty(len(left_m))
    behind = -cuts["unit_y"] * (0.0 - cuts["middle_x"]) + cuts["unit_x"] * (0.0 - cuts["middle_y"])
    first = int(line.cut[0])
    station[:first] = -behind[:first]
    station[line.cut] = line.along_m
    tail = np.hypot(*np.diff((left_m + right_m)[last:] / 2, axis=0).T)
    station[last + 1 :] = station[last] + np.cumsum(tail)
    return station, last


def gate_of_cut(gates: tuple[Gate, ...], count: int) -> NDArray[np.int16]:
    """Which gate covers every cut? -1 where none does. (K,)"""
    owner = np.full(count, -1, dtype=np.int16)
    for index, gate in enumerate(gates):
        covered = slice(gate.first_cut, gate.last_cut + 1)
        owner[covered] = np.where(owner[covered] < 0, index, owner[covered])
    return owner
