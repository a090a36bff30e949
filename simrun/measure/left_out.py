"""Who is left out of the means, and why? Nobody falls out of a table in silence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simrun.state.recording import Recording

STANDS_S = 20.0
"""A runner who has not moved for so long while nobody is down is named: a fault of the model, or a course too
tight."""


@dataclass(frozen=True)
class Stood:
    """One runner who did not get on. who: name or box and race. at_m: metres along the measured line."""

    who: str
    at_m: float
    seconds: float
    arrived: bool


@dataclass(frozen=True)
class LeftOut:
    """Of all `runners` (over `races` races) how many did not reach the last mark, and who stood?"""

    runners: int
    missing: int
    stood: tuple[Stood, ...] = ()
    races: int = 1

    def __add__(self, other: LeftOut) -> LeftOut:
        return LeftOut(
            self.runners + other.runners,
            self.missing + other.missing,
            self.stood + other.stood,
            self.races + other.races,
        )


def left_out_of(recording: Recording) -> LeftOut:
    """Who did not reach the last mark of this race, and who stood for 20 s or longer on the way?

    Check: tests/unit/trials/test_left_out.py.
    """
    arrived = np.isfinite(recording.crossing_s[:, -1])
    return found_in(
        arrived, recording.stood_s, recording.stood_m, [*recording.roster.name], "{who}"
    )


def found_in(
    arrived: np.ndarray, stood_s: np.ndarray, stood_m: np.ndarray, who: Sequence[object], word: str
) -> LeftOut:
    """The same from the arrays of one race, (N,) each; `word` says how one of `who` is called."""
    rows = np.flatnonzero(stood_s >= STANDS_S)
    stood = tuple(
        Stood(word.format(who=who[i]), float(stood_m[i]), float(stood_s[i]), bool(arrived[i]))
        for i in rows.tolist()
    )
    return LeftOut(len(arrived), int((~arrived).sum()), stood)
