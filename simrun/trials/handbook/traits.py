"""What does the estimate's model see of a box? The ground's own geometry first, then the crowd on it.

Sides are turned so that the first turn goes right: a day seen in a mirror gives the same traits for the box
in the mirror, and so the same answer. The page's script has the same lines (`pages/templates/estimate.js`).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from simrun.trials.handbook.sampled_day import SampledDay

Array = NDArray[np.float64]

RACE_M = 5000.0
FLOW_M_S = 1.5
"""So many runners a metre of width and second pass a throat at most: the scale of the queue, nothing more."""


def traits(day: SampledDay) -> tuple[Array, Array]:
    """Of every box from left to right: what the model sees, (B, F), and the seconds that the ground alone
    costs against the average box, at the throat and behind it, (B, 3).

    Seconds of the ground: metres further by the taut string from the box's middle through the throat to the
    inside of the turn, at the field's mean pace. Check: tests/unit/trials/test_handbook.py.
    """
    side = 1.0 if day.turn_deg > 0 else -1.0
    half, across = day.width_m / 2, day.throat_m / 2
    offset = side * day.offset_m
    number = np.arange(day.boxes)
    y = side * ((number + 0.5) / day.boxes * day.width_m - half)
    apex = offset + day.turn_m / 2
    straight, behind = day.straight_m, day.turn_after_m
    taut = y + (apex - y) * straight / (straight + behind)
    crossed = np.minimum(np.maximum(taut, offset - across), offset + across)
    to_throat = np.sqrt(straight**2 + (crossed - y) ** 2)
    to_turn = to_throat + np.sqrt(behind**2 + (apex - crossed) ** 2)
    pace = day.mean_s / RACE_M
    first = (to_throat - to_throat.mean()) * pace
    later = (to_turn - to_turn.mean()) * pace
    field = day.boxes * day.runners
    queue_s = field / (FLOW_M_S * day.throat_m)
    rows = math.ceil(day.runners / day.abreast)
    apart_s = 1.0 + straight * day.spread_s / RACE_M + 0.5 * (rows - 1)
    off = (y - offset) / half
    bulk = math.log(queue_s / apart_s)
    beside = np.maximum(np.abs(y - offset) - across, 0.0)
    columns = [
        *(y / half, (y / half) ** 2, off, np.abs(off), beside / half, beside / straight),
        *(first, later, off * bulk, np.abs(off) * bulk, (y / half) ** 4, off * day.throat_m / 25),
        math.log(day.width_m / 50),
        math.log(straight / 200),
        math.log(day.throat_m / 9),
        math.log(day.width_m / straight),
        math.log(day.throat_m / day.width_m),
        offset / half,
        abs(offset) / half,
        math.log(field / 100),
        bulk,
        math.log(queue_s / 10),
        math.log(field / day.width_m / 2),
        float(rows - 2),
        day.width_m / day.boxes / day.abreast - 1,
        math.log(day.boxes / 20),
        math.log(behind / 70),
        abs(day.turn_deg) / 90 - 1,
        math.log(day.turn_m / day.throat_m),
        math.log(1 + day.radius_m) / 2,
        1.0 if day.radius_m == 0 else 0.0,
        day.mean_s / 200 - 5.7,
        day.spread_s / 30 - 1.8,
        1.0 if day.start == "quick" else 0.0,
        1.0 if day.start == "wild" else 0.0,
    ]
    table = np.empty((day.boxes, len(columns)))
    for at, column in enumerate(columns):
        table[:, at] = column
    return table, np.stack([first, later, later], axis=1)
