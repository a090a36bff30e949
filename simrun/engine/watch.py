"""Is everybody getting on? A watch over a race: who has not moved for how long, and where."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LOOKS_S = 5.0
"""So often the watch looks."""

MOVED_M = 0.5
"""A runner who has come so far since has moved."""


class Watch:
    """The longest time that each of N runners stood in one place once they were free to go.

    stood_s (N,): seconds, in steps of the looks; stood (N,): the records of that moment. The wait for
    their own gun does not count, nor does any time in which somebody is down.
    """

    def __init__(self, bodies: Any, runners: int, obstacles: int) -> None:
        self.runners, self.things = runners, runners + obstacles
        self.free_s = bodies["wait_s"][:runners].copy()
        self.since_s = self.free_s.copy()
        self.anchor_m = _places(bodies, runners)
        self.stood, self.stood_s = bodies[:runners].copy(), np.zeros(runners)

    def look(self, bodies: Any, t_s: float) -> None:
        """Note who has moved since the last look, and for how long everybody else has stood."""
        bodies = np.asarray(bodies)  # a record array's own look-up of fields is Python
        here = _places(bodies, self.runners)
        moved = np.hypot(*(here - self.anchor_m).T) > MOVED_M
        moved |= bodies["gone"][: self.runners] == 1
        if (bodies["gone"][self.things :] == 0).any():
            moved[:] = True
        self.anchor_m[moved] = here[moved]
        self.since_s[moved] = np.maximum(self.free_s[moved], t_s)
        stood = t_s - self.since_s
        longer = stood > self.stood_s
        self.stood_s[longer] = stood[longer]
        self.stood[longer] = bodies[: self.runners][longer]


def _places(bodies: Any, runners: int) -> Array:
    return np.stack([bodies["x"][:runners], bodies["y"][:runners]], axis=-1)
