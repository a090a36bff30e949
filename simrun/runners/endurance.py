"""How long can everybody run above which speed? Critical speed and reserve out of the 5 km time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.sources import figure

Array = NDArray[np.float64]

RACE_M = 5000.0
"""Seed times are those of a 5 km race."""

NEVER_TIRES_M = RACE_M
"""A reserve as long as the race: critical speed 0, nothing is ever missing."""


def critical_speed_m_s(
    cruise_m_s: Array, reserve_m: Array, level_m: Array | float = RACE_M
) -> Array:
    """The critical speed with which `reserve_m` lasts exactly the race behind the seed time: (N,).

    level_m: that race in level metres, 5000 on a track and more on grass. level = critical x time + reserve
    and level = cruise x time, so critical = cruise (1 - reserve / level).
    Check: tests/validation/test_whole_race.py.
    """
    return cruise_m_s * (1.0 - reserve_m / level_m)


def draw_reserve_m(runners: int, rng: np.random.Generator) -> Array:
    """Everybody's reserve in metres, (N,): normal, kept within the range of the figure.

    Both its size and its spread are assumed (`energy.reserve_m`, `energy.reserve_sd_m`).
    """
    size, spread = figure("energy.reserve_m"), figure("energy.reserve_sd_m").value
    return np.clip(size.value + spread * rng.standard_normal(runners), size.low, size.high)
