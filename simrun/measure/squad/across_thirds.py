"""Who walks in which third of the width, and who gets over to the other half of it?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Side

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

WALKS_M_S = 2.0
"""Slower than this people walk (assumed: near where they change from the one to the other by themselves)."""


@dataclass(frozen=True)
class Walked:
    """One race at one place: runners (3,) in each third of the width, walking (3,) of them."""

    runners: NDArray[np.int64]
    walking: NDArray[np.int64]

    @property
    def by_third(self) -> Array:
        """Which share walks in each third? (3,), nan where nobody ran."""
        return np.where(self.runners > 0, self.walking / np.maximum(self.runners, 1), np.nan)


@dataclass(frozen=True)
class Got:
    """How many were in the wrong half and wanted over, and how many of them got there?"""

    wanted: int
    over: int


def walk_by_third(across: Array, slowest_m_s: Array, counted: Flags, inside: int) -> Walked:
    """How many run through each third of the width, from the inside on, and how many of them walk?

    across (N,): where each passed the middle of the place, 0 left to 1 right; slowest_m_s (N,): the slowest
    speed on the way through; counted (N,): of whom it is asked. inside: the side of a turn's apex; NONE, of
    a narrowing: from the left on. Who did not come so far (nan) is not counted.
    Formula: walks = slowest < WALKS_M_S. Check: tests/unit/measure/test_sides.py (by hand; the mirror).
    """
    off = 1.0 - across if inside == Side.RIGHT else across
    known = counted & np.isfinite(off) & np.isfinite(slowest_m_s)
    third = np.clip((3 * off[known]).astype(int), 0, 2)
    walks = slowest_m_s[known] < WALKS_M_S
    return Walked(np.bincount(third, minlength=3), np.bincount(third[walks], minlength=3))


def get_over(here: Array, there: Array, wants: Flags, inside: int) -> Got:
    """Of those who want the inside of a turn and are in the other half here, who passes it on the inside?

    here, there (N,): where each passed this place and the middle of the turn, 0 left to 1 right; wants (N,).
    Check: tests/unit/measure/test_sides.py (by hand; nobody moves: nobody gets over).
    """
    first, then = (1.0 - each if inside == Side.RIGHT else each for each in (here, there))
    asked = wants & (first >= 0.5) & np.isfinite(then)
    return Got(int(asked.sum()), int((then[asked] < 0.5).sum()))
