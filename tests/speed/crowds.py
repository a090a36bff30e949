"""Crowds to measure on: so many runners at such a density on a straight between two walls.

The crowd is laid out as a block, given paces that differ, and run for two seconds, so that it is measured
while it follows, passes and touches, not while it stands in rows.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from simrun.answers.evidence.experiments.arena import (
    block_m,
    crowd_of,
    crowd_race,
    ground,
    straight,
)
from simrun.engine.run import Race

WIDTH_M = 20.0
RUN_UP_M = 300.0
SETTLE_S = 2.0
PACE_M_S = 5.0
PACE_SPREAD_M_S = 0.3
DENSITIES = {"strung out": 0.2, "racing": 0.7, "crush": 2.0}
"""Runners per square metre: after a kilometre, at a first narrowing, in front of a gap."""


def crowd(count: int, per_m2: float, seed: int = 1) -> Race:
    """`count` runners at this density, two seconds on their way."""
    long_m = count / per_m2 / WIDTH_M
    rng = np.random.default_rng(seed)
    stand = block_m(count / long_m / (WIDTH_M - 1.0), long_m, WIDTH_M - 1.0, rng)
    stand[:, 0] += 1.0
    course = ground([straight(long_m + RUN_UP_M, WIDTH_M)], [long_m + RUN_UP_M - 1.0], 600.0)
    race = crowd_race(course, crowd_of("runner", PACE_M_S), stand)
    race.bodies["cruise_m_s"][:] = rng.normal(PACE_M_S, PACE_SPREAD_M_S, len(stand))
    race.bodies["speed"][:], race.bodies["off"][:] = 0.6 * PACE_M_S, 1
    race.advance(round(SETTLE_S / race.step_s))
    return race


def per_m2(race: Race) -> float:
    """How dense is it really now? Runners over the ground that the block covers."""
    x = race.bodies["x"]
    return len(x) / float(x.max() - x.min()) / WIDTH_M


def seconds(work: Callable[[], object], times: int, rounds: int = 40) -> float:
    """How long does it take? The least of so many rounds' means, after one call that does not count.

    Of the processor's time; the least, because whatever else the machine does can only add.
    """
    work()
    means = []
    for _ in range(rounds):
        begin = time.thread_time()
        for _ in range(times):
            work()
        means.append((time.thread_time() - begin) / times)
    return min(means)
