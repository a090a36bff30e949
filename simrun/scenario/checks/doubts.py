"""What does a file say that may be written, and can hardly be? Told on one line; the race day is read."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from simrun.course.strip import Strip

STEEPEST = 0.45
"""The costs of slopes were measured up to 45 in 100.
Source: Minetti et al. 2002, J Appl Physiol 93:1039 (seen)."""

WINDOW_M = 10.0
"""A bank may be steep for a few strides."""


def doubts_of(strip: Strip) -> Iterator[str]:
    """What is hard to believe of this ground? A line each.

    Check: tests/unit/scenario/test_doubts.py.
    """
    end_m = float(strip.station_m[-1])
    at_m = np.linspace(0.0, end_m, max(2, int(end_m / WINDOW_M) + 1))
    slope = np.diff(np.interp(at_m, strip.station_m, strip.height_m)) / np.diff(at_m)
    worst = int(np.abs(slope).argmax())
    if abs(slope[worst]) > STEEPEST:
        way = "climbs" if slope[worst] > 0 else "falls"
        yield (
            f"the course {way} {100 * abs(slope[worst]):.0f} in 100 at {at_m[worst]:.0f} m, and what slopes "
            f"cost is known up to {100 * STEEPEST:.0f}; is a height or a length wrong?"
        )
