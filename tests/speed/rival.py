"""What a good engineer would write in an afternoon: NumPy over the pairs that a tree finds.

It finds who is near, looks for the nearest ahead within a shoulder, follows and moves. It does not pass, keep
room aside, turn with a course, hold walls or part bodies: it does less than the kernel's step, not the same.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from tests.speed.floor import LOOK_M

ASIDE_M, GAP_M, FOLLOWS_S, GATHERS_S, BODY_M = 0.5, 0.3, 0.5, 0.7, 0.4


class Rival:
    """N runners, each along their own heading."""

    def __init__(self, bodies: Any) -> None:
        names = ("x", "y", "speed", "heading_x", "heading_y", "wished_m_s")
        self.x, self.y, self.speed, self.to_x, self.to_y, self.wished = (
            np.array(bodies[name], dtype=float) for name in names
        )

    def step(self, step_s: float) -> None:
        """One step of everybody."""
        place = np.stack([self.x, self.y], axis=1)
        one, other = cKDTree(place).query_pairs(LOOK_M, output_type="ndarray").T
        me, you = np.concatenate([one, other]), np.concatenate([other, one])
        dx, dy = self.x[you] - self.x[me], self.y[you] - self.y[me]
        ahead = dx * self.to_x[me] + dy * self.to_y[me]
        aside = np.abs(dx * self.to_y[me] - dy * self.to_x[me])
        gap = np.where((ahead > 0) & (aside < ASIDE_M), ahead - BODY_M - GAP_M, np.inf)
        nearest = np.full(len(self.x), np.inf)
        np.minimum.at(nearest, me, gap)
        wish = np.minimum(self.wished, np.maximum(0.0, nearest) / FOLLOWS_S)
        self.speed += (wish - self.speed) * (1.0 - np.exp(-step_s / GATHERS_S))
        self.x += self.speed * step_s * self.to_x
        self.y += self.speed * step_s * self.to_y
