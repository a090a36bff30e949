"""When is nobody of the field at a place, so that somebody could walk across?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Strip

Array = NDArray[np.float64]

Span = tuple[float, float]
"""From one to another: seconds after the gun, or metres along the measured line."""

SPOT_M = 15.0
"""Ground so near to a place, as the crow flies, is of that place, whichever lap it is run on (assumed)."""

FINE_M = 2.0
"""The way is looked at every so many metres."""

LEAST_S = 20.0
"""A shorter gap is none to cross in (assumed)."""


def comes_by(strip: Strip, at_m: float) -> tuple[Span, ...]:
    """Where does the course come within SPOT_M of this place? Metres along the measured line, in order.

    Check: tests/unit/measure/test_sides.py (a lap run twice: twice).
    """
    along = np.append(np.arange(0.0, strip.length_m, FINE_M), strip.length_m)
    path = np.array([strip.point_at(float(at)) for at in along])
    near = np.flatnonzero(np.hypot(*(path - np.array(strip.point_at(at_m))).T) <= SPOT_M)
    groups = np.split(near, np.flatnonzero(np.diff(near) > 1) + 1)
    return tuple((float(along[group[0]]), float(along[group[-1]])) for group in groups)


def nobody_there(comes: Sequence[Array], gone: Sequence[Array]) -> tuple[Span, ...]:
    """When was nobody at one place in any race? Spans of at least LEAST_S, the last one endless.

    comes, gone: for every time that the course comes by, when each runner of all races comes near and is
    gone again, (N,) each, nan for never.
    Formula: before the first of all; between the last of one time and the first of the next; after the last.
    Who came near and is not known to be gone may still be there: no span begins behind that.
    Check: tests/unit/measure/test_sides.py (by hand; whoever is still out closes the gap).
    """
    free, found = 0.0, []
    for near, away in zip(comes, gone, strict=True):
        taken = float(np.nanmin(near)) if np.isfinite(near).any() else np.inf
        found.append((free, taken))
        free = max(free, float(np.nan_to_num(away, nan=np.inf).max()))
    found.append((free, np.inf))
    return tuple((begin, end) for begin, end in found if begin + LEAST_S <= end and begin < np.inf)
