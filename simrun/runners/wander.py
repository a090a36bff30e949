"""How does a runner's wished speed wander along the course?"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from simrun.runners.streams import whole_blocks
from simrun.sources import figure

WANDER_STEP_M = figure("people.wander_step_m").value
"""The wished speed keeps one factor over this length of course."""

_BLOCK = 200
"""Steps drawn at a time: the same people wander alike on two courses of up to 10 km."""


def draw_wander(
    runners: int,
    steps: int,
    rng: np.random.Generator,
    sd: float | None = None,
    correlation: float | None = None,
) -> NDArray[np.float64]:
    """Factors on the wished speed, (runners, steps), one a `WANDER_STEP_M` of course, mean 1.

    x[k+1] = c x[k] + sqrt(1 - c^2) e, begun in its steady state: as wide at the gun as later.
    Spread and correlation are assumed (`people.wander_sd`, `people.wander_correlation`). Check:
    tests/unit/runners/test_runners_wander.py.
    """
    spread = figure("people.wander_sd").value if sd is None else sd
    kept = figure("people.wander_correlation").value if correlation is None else correlation
    fresh = rng.standard_normal((runners, whole_blocks(steps, _BLOCK)))[:, :steps]
    fresh[:, 1:] *= math.sqrt(1.0 - kept * kept)
    for step in range(1, steps):
        fresh[:, step] += kept * fresh[:, step - 1]
    return np.asarray(1.0 + spread * fresh, dtype=np.float64)
