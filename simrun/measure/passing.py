"""Where can a runner get by another? Passes, passes that were wished for, and seconds lost in traffic."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FEWEST_WISHED = 30
"""Of fewer wished passes in all races no share is told (assumed)."""

CLOSED, OPEN = 0.40, 0.65
"""Of the faster runners up to so many get by: sit; from so many on: move (assumed)."""

SETTLED_PER_100_M = 0.15
"""Fewer wished passes than this a runner and 100 m: everybody runs where they belong (assumed)."""

SIT, MOVE, CHOOSE, SETTLED, UNTOLD = "sit", "move", "choose", "settled", "untold"


@dataclass(frozen=True)
class Passing:
    """One stretch over S races, everything counted over those who ran all of it.

    metres: its length. runners, wished, made, passes (S,): how many ran it; pairs of whom the one behind
    would have come out in front with nobody near; those of them where it did; all changes of place.
    traffic_s (S,): mean seconds longer than the same runners alone over the same ground. middle_s (S,):
    seconds of the runner in the middle.
    """

    metres: float
    runners: Array
    wished: Array
    made: Array
    passes: Array
    traffic_s: Array
    middle_s: Array

    @property
    def open_share(self) -> float:
        """Which share of the wished passes was made? nan where hardly any was wished for."""
        wished = float(self.wished.sum())
        return float(self.made.sum()) / wished if wished >= FEWEST_WISHED else np.nan

    @property
    def word(self) -> str:
        """Sit, move or choose? By the share of the wished passes that is made."""
        if not self.wished_per_100_m >= SETTLED_PER_100_M:
            return SETTLED
        if np.isnan(self.open_share):
            return UNTOLD
        if self.open_share <= CLOSED:
            return SIT
        return MOVE if self.open_share >= OPEN else CHOOSE

    @property
    def passes_per_100_m(self) -> float:
        """How many does a runner pass in 100 m, in the mean?"""
        return _per_100_m(self.passes, self)

    @property
    def wished_per_100_m(self) -> float:
        """How many would a runner pass in 100 m with nobody near?"""
        return _per_100_m(self.wished, self)

    @property
    def mean_traffic_s(self) -> float:
        """What did traffic cost a runner on this stretch, over all races?"""
        return _mean(self.traffic_s)

    @property
    def middle_m_s(self) -> float:
        """How fast is the runner in the middle, over all races?"""
        return self.metres / _mean(self.middle_s)


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if np.isfinite(values).any() else np.nan


def _per_100_m(pairs: Array, of: Passing) -> float:
    whole = float(of.runners.sum()) * of.metres / 100.0
    return float(pairs.sum()) / whole if whole > 0 else np.nan


def passing(times: Sequence[tuple[Array, Array, Array]], metres: float) -> Passing:
    """How was one stretch passed on, in S races?

    times: for every race when each runner came to its start and its end in the field, and the seconds
    that it takes the same runner alone: (N,) each, nan for who did not. Passing from the gun itself is
    not counted: a start has no order yet.
    Formula: a pass is wished where entry + time alone turns the order of entry about, made where the
    exits do too.
    Check: tests/unit/measure/test_passing.py, tests/validation/test_common_practice.py (a trail against
    a wide course).
    """
    rows = [_of_race(*each) for each in times]
    return Passing(metres, *np.array(rows, dtype=float).reshape(-1, 6).T)


def _of_race(entry_s: Array, exit_s: Array, alone_s: Array) -> tuple[float, ...]:
    ran = np.isfinite(entry_s) & np.isfinite(exit_s) & np.isfinite(alone_s)
    entry, out, alone = entry_s[ran], exit_s[ran], alone_s[ran]
    if not ran.any():
        return 0.0, 0.0, 0.0, 0.0, np.nan, np.nan
    ahead = entry[:, None] < entry[None, :]
    passed = ahead & (out[:, None] > out[None, :])
    free = entry + alone
    wished = ahead & (free[:, None] > free[None, :])
    traffic = float((out - entry - alone).mean())
    middle = float(np.median(out - entry))
    return len(entry), wished.sum(), (wished & passed).sum(), passed.sum(), traffic, middle
