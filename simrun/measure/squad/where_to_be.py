"""From which place back is a narrow piece ahead run into a queue?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Strip
from simrun.measure.places import CoursePlace, course_places

Array = NDArray[np.float64]

COSTS_S = 1.0
"""Who loses more than this on the way through a narrow piece is held up there (assumed)."""

FEWEST = 8
"""Of fewer runners no place is told (assumed)."""


@dataclass(frozen=True)
class Narrow:
    """A piece on which the course closes down: its name, where it begins and ends, and on which lap."""

    name: str
    from_m: float
    to_m: float
    lap: int = 1


def narrow_pieces(strip: Strip) -> tuple[Narrow, ...]:
    """Every piece on which the course closes down, with the ground that leads into it, in order.

    Check: tests/unit/measure/test_squad.py.
    """
    return tuple(_joined(course_places(strip, strip.length_m)))


def _joined(places: tuple[CoursePlace, ...]) -> Iterator[Narrow]:
    """A taper and the narrowing right behind it are one piece, called as the gate before it."""
    waiting: CoursePlace | None = None
    for place in places:
        behind = place.kind == "narrowing" and waiting is not None
        if waiting is not None and not behind:
            yield Narrow(waiting.name, waiting.from_m, waiting.to_m, waiting.lap)
        if place.kind == "narrowing":
            first = waiting or place
            yield Narrow(first.name, first.from_m, place.to_m, first.lap)
        waiting = place if place.kind == "taper" else None
    if waiting is not None:
        yield Narrow(waiting.name, waiting.from_m, waiting.to_m, waiting.lap)


def lost_between(crossing_s: Array, alone_s: Array, first: int, last: int) -> Array:
    """Seconds longer than alone from one mark to another, (N,). crossing_s, alone_s (N, C)."""
    field = crossing_s[:, last] - crossing_s[:, first]
    return np.asarray(field - (alone_s[:, last] - alone_s[:, first]))


def last_free_place(place: Array, lost_s: Array, costs_s: float = COSTS_S) -> float:
    """The last place at a mark from which the ground ahead costs no more than `costs_s`. One race.

    place (N,): at the mark, from 1; lost_s (N,): seconds lost from there to the end of the narrow piece,
    nan left out. Formula: the loss as a function of the place that never falls and lies nearest in least
    squares (isotonic regression); the last place at which it is not above `costs_s`. nan where it never
    comes above (nobody is held up), where it is above from the first place on, or with fewer than FEWEST.
    Source: isotonic regression, Barlow et al. 1972; memory. Check: tests/unit/measure/test_squad.py.
    """
    from scipy.optimize import isotonic_regression

    known = np.isfinite(place) & np.isfinite(lost_s)
    if int(known.sum()) < FEWEST:
        return float("nan")
    order = np.argsort(place[known], kind="stable")
    ahead, fitted = place[known][order], isotonic_regression(lost_s[known][order]).x
    free = ahead[fitted <= costs_s]
    return float(free[-1]) if 0 < len(free) < len(ahead) else float("nan")
