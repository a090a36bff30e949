"""Where can somebody on foot see the team twice, and when?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Strip

Array = NDArray[np.float64]

WALKS_M_S = 1.2
"""How fast a spectator walks, a crowd beside the course and a child by the hand included (assumed)."""

DETOUR = 1.5
"""A way on foot is so much longer than the straight line (assumed): it goes round the course."""

STANDS_M = 15.0
"""Nobody needs to walk who sees both places from one spot: no further apart than this (assumed)."""


@dataclass(frozen=True)
class SeenTwice:
    """Two marks of the race by their numbers, and the metres between them on foot (0: one spot)."""

    first: int
    second: int
    walk_m: float


def seen_twice(
    strip: Strip, station_m: Sequence[float], crossing_s: Array
) -> tuple[SeenTwice, ...]:
    """Which two marks can be seen by one person? The shortest way on foot first, then the longest wait.

    station_m (M,): of the marks that come in question. crossing_s (S, R, M): when our R runners crossed
    them in S races, nan left out. In time is who leaves when the last of ours has passed the first mark and
    is at the second before the first of ours, in every race, walking DETOUR times the straight line.
    Formula: walk / WALKS_M_S < min over races of (first of ours at the second - last of ours at the first).
    Check: tests/unit/measure/test_squad.py (two laps of a square; a straight course has none).
    """
    spots = np.array([strip.point_at(float(at)) for at in station_m])
    found = []
    for one, other in combinations(range(len(station_m)), 2):
        straight = float(np.hypot(*(spots[one] - spots[other])))
        walk_m = 0.0 if straight <= STANDS_M else DETOUR * straight
        spare_s = _spare_s(crossing_s[:, :, one], crossing_s[:, :, other])
        if spare_s > walk_m / WALKS_M_S:
            found.append((walk_m, -spare_s, SeenTwice(one, other, walk_m)))
    return tuple(seen for *_, seen in sorted(found, key=lambda each: each[:2]))


def _spare_s(first_s: Array, second_s: Array) -> float:
    """From the last of ours at one mark to the first at the other, in the race with the least; nan: never."""
    known = np.isfinite(first_s).all(axis=1) & np.isfinite(second_s).any(axis=1)
    if not known.any():
        return float("nan")
    spare = np.nanmin(second_s[known], axis=1) - first_s[known].max(axis=1)
    return float(spare.min())
