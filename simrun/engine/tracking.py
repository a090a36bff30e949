"""When does everybody who runs alone come to every place? Noted while the alone-run goes on."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.compiled import compiled
from simrun.course.station import station_at_m
from simrun.state.tracks import NOT_REACHED

Array = NDArray[np.float64]
Whole = NDArray[np.int32]

SETTING_OFF_S, ON_THE_WAY_S = 0.1, 0.5
"""So often is noted where everybody has come to: while anybody is near their own place, and later."""

SET_OFF_M = 30.0
"""A runner who has come so far has gathered speed: a straight line between notes is good to hundredths."""

STILL_M = 1e-9


def run_tracked(race: Any, at_m: Array) -> tuple[Array, Whole]:
    """Run a Race to its end; when did each leave their own place, (N,) seconds, and come to the places at_m
    (M,), (N, M) whole milliseconds, NOT_REACHED where not within the limit?

    Straight lines between two notes. Check: tests/unit/measure/test_account.py.
    """
    start = race.station_m()
    reached = np.full((len(start), len(at_m)), NOT_REACHED, dtype=np.int32)
    leaves, furthest, t_s = np.zeros(len(start)), start.copy(), race.t_s
    ahead = np.searchsorted(at_m, start, side="right")
    due, stations = ahead.copy(), race.scenario.strip.station_m
    while not race.is_over:
        pause_s = SETTING_OFF_S if (furthest - start).min() < SET_OFF_M else ON_THE_WAY_S
        race.advance(max(1, round(pause_s / race.step_s)))
        note(race.bodies, race.ground, stations, at_m, t_s, race.t_s, due, furthest, reached)
        leaves[furthest <= start + STILL_M] = race.t_s
        t_s = race.t_s
    behind = np.arange(len(at_m)) < ahead[:, None]
    return leaves, np.where(behind, np.round(1000.0 * leaves)[:, None], reached).astype(np.int32)


@compiled
def note(
    bodies: Any,
    ground: Any,
    stations: Any,
    at_m: Any,
    since_s: float,
    until_s: float,
    due: Any,
    furthest: Any,
    reached: Any,
) -> None:
    """Write down every place that was come to between two moments. due (N,): the next place of everybody;
    furthest (N,): how far along each had come by the first of them."""
    for i in range(len(due)):
        now = station_at_m(ground, stations, bodies[i].cell, bodies[i].x, bodies[i].y)
        if not now > furthest[i]:
            continue
        while due[i] < len(at_m) and at_m[due[i]] <= now:
            share = (at_m[due[i]] - furthest[i]) / (now - furthest[i])
            moment = since_s + share * (until_s - since_s)
            reached[i, due[i]] = int(math.floor(1000.0 * moment + 0.5))
            due[i] += 1
        furthest[i] = now
