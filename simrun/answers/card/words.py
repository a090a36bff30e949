"""What would a coach write beside every stretch? From the simulated passing and traffic, and the ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simrun.base.units import length_text
from simrun.measure.passing import Passing
from simrun.measure.stretches import Stretch
from simrun.pages.text import tenths

CLOSED, OPEN = 0.40, 0.65
"""Of those who would get by, up to so many do: sit; from so many on: move (assumed)."""

COSTS_S = 1.0
"""Traffic that costs less than this on a stretch is not worth a word (assumed)."""

SETTLED_PER_100_M = 0.15
"""Fewer wished passes than this a runner and 100 m: everybody runs where they belong (assumed)."""

CLIMB_M = 2.0

SIT, MOVE, CHOOSE, SETTLED, UNTOLD = "sit", "move", "choose", "settled", "untold"
GO_OUT = "go out"


@dataclass(frozen=True)
class Told:
    """One stretch, what the races say about it, one word for it, and the note."""

    stretch: Stretch
    passing: Passing
    word: str
    note: str


def told(found: tuple[Stretch, ...], passings: list[Passing], units: str) -> tuple[Told, ...]:
    """A note for every stretch, in the order of the race. Check: tests/unit/test_notes.py."""
    words = [_word(k, passing) for k, passing in enumerate(passings)]
    rows = []
    for k, (stretch, passing) in enumerate(zip(found, passings, strict=True)):
        ahead = (found[k + 1], passings[k + 1], words[k + 1]) if k + 1 < len(found) else None
        before = (found[k - 1], words[k - 1]) if k else None
        parts = [_advice(words[k], passing, before), _cost(passing), _ground(stretch, units)]
        parts.append(_what_comes(ahead, words[k]) if ahead else "")
        rows.append(Told(stretch, passing, words[k], " ".join(part for part in parts if part)))
    return tuple(rows)


def _word(number: int, passing: Passing) -> str:
    if number == 0:
        return GO_OUT
    if not passing.wished_per_100_m >= SETTLED_PER_100_M:
        return SETTLED
    if np.isnan(passing.open_share):
        return UNTOLD
    if passing.open_share <= CLOSED:
        return SIT
    return MOVE if passing.open_share >= OPEN else CHOOSE


def _advice(word: str, passing: Passing, before: tuple[Stretch, str] | None) -> str:
    if word == GO_OUT:
        return "Go out."
    if word == SETTLED:
        return "Settled: hardly anybody changes place."
    if word == UNTOLD:
        return "Too few would pass to tell."
    of_ten = f"{_of_ten(passing)} of ten who would get by do."
    if word == SIT:
        return f"Sit: {of_ten}"
    if word == MOVE:
        after = f" after the {before[0].name}" if before and before[1] == SIT else ""
        return f"Move{after}: {of_ten}"
    return f"Pass one by one: {of_ten}"


def _of_ten(passing: Passing) -> str:
    return f"{round(10 * passing.open_share)}"


def _cost(passing: Passing) -> str:
    if not passing.mean_traffic_s >= COSTS_S:
        return ""
    known = passing.traffic_s[np.isfinite(passing.traffic_s)]
    low, high = tenths(known.min()), tenths(known.max())
    size = f"{low} s" if low == high else f"{low} to {high} s"
    return f"Traffic costs {size}."


def _ground(stretch: Stretch, units: str) -> str:
    if abs(stretch.climb_m) < CLIMB_M:
        return ""
    way = "up" if stretch.climb_m > 0 else "down"
    return f"{length_text(abs(stretch.climb_m), units)} {way}."


def _what_comes(ahead: tuple[Stretch, Passing, str], word: str) -> str:
    """Be placed before the way closes; and where it costs more than the ground before it."""
    stretch, passing, next_word = ahead
    if next_word == SIT and word != SIT:
        return f"Be where you want to be before the {stretch.name}."
    if passing.mean_traffic_s >= 2 * COSTS_S:
        return f"Traffic ahead: {stretch.name}, {tenths(passing.mean_traffic_s)} s."
    return ""
