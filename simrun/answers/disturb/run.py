"""If somebody is down at this point for so many seconds: who is held up, and for how long?

The same people, reactions and chances once with and once without, seed by seed. It answers what a stop
does to the others; it says nothing about whether anybody falls.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.engine.down import Down, run_with
from simrun.engine.run import field_of
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import Estimate, estimate, single_range

Array = NDArray[np.float64]

HELD_UP_S = 1.0
BEYOND_M = 30.0
RECALL_WINDOW_M = 100.0
"""Where a fall by contact may lead to a recall. Source: starter's instructions of a US federation (seen)."""

SIDES = {"left": 0.15, "middle": 0.5, "right": 0.85}


@dataclass(frozen=True)
class Held:
    """What the stop did: S seeds, N runners.

    passed_s (S, N): when each was at the point with nobody down; delay_s (S, N): how much later each was
    behind it with somebody down, nan for who never came so far. from_s (S,): since when.
    """

    down: Down
    passed_s: Array
    delay_s: Array
    from_s: Array

    @property
    def held_up(self) -> Array:
        """How many are later by more than a second, seed by seed? (S,)"""
        return (self.delay_s > HELD_UP_S).sum(axis=1).astype(float)

    @property
    def longest_s(self) -> Array:
        """The delay of who is held up longest, (S,)."""
        return np.nanmax(self.delay_s, axis=1)

    @property
    def recovered_s(self) -> Array:
        """How long after the way is clear again does the last one pass who is held up? (S,), 0 for nobody."""
        late = np.where(self.delay_s > HELD_UP_S, self.passed_s + self.delay_s, -np.inf)
        after = late.max(axis=1) - (self.from_s + self.down.for_s)
        return np.maximum(0.0, after)


def disturb(
    scenario: Scenario,
    down: Down,
    seeds: tuple[int, ...],
    progress: Callable[[float], None] | None = None,
) -> Held:
    """Run every seed with and without. down.from_s nan: when half of the field has passed the point.

    Raises BadInput where the point is not on the course. Check: tests/validation/test_disturbance.py.
    """
    day = _short_day(scenario, down)
    passed, delays, begun = [], [], []
    for number, seed in enumerate(seeds):
        plain = field_of(day, seed, frames=False).run().tape.crossing_s
        since = _since(down, plain)
        stop = Down(down.at_m, down.share, since, down.for_s)
        late = run_with(field_of(day, seed, frames=False), stop).tape.crossing_s
        passed.append(plain[:, 0])
        delays.append(late[:, -1] - plain[:, -1])
        begun.append(since)
        if progress:
            progress((number + 1) / len(seeds))
    return Held(down, np.stack(passed), np.stack(delays), np.array(begun))


def _since(down: Down, crossing_s: Array) -> float:
    if down.from_s == down.from_s:
        return down.from_s
    return float(np.nanmedian(crossing_s[:, 0]))


def _short_day(scenario: Scenario, down: Down) -> Scenario:
    """The race to a little beyond the point, with checkpoints at it and behind it."""
    length = scenario.strip.length_m
    if not 1.0 <= down.at_m <= length - 1.0:
        found = f"{down.at_m:g} m"
        allowed = f"from 1 to {length - 1:.0f} m along the measured line"
        raise BadInput(Problem("at", found, allowed, "", scenario.file))
    if not 0.0 <= down.share <= 1.0:
        raise BadInput(Problem("across", f"{down.share:g}", "from 0 (left edge) to 1 (right edge)"))
    if not 0.0 < down.for_s <= 600.0:
        raise BadInput(Problem("for", f"{down.for_s:g} s", "more than 0 and up to 600 s"))
    marks = [
        {"name": "the point", "at": down.at_m},
        {"name": "behind the point", "at": min(length, down.at_m + BEYOND_M)},
    ]
    return scenario.changed({"course.checkpoints": marks})


@dataclass(frozen=True)
class Told:
    """The figures of a disturbance: means with intervals over seeds, ranges of single races."""

    held_up: Estimate
    held_up_range: tuple[float, float]
    longest: Estimate
    longest_range: tuple[float, float]
    recovered: Estimate
    in_recall_window: bool


def figures_of(held: Held) -> Told:
    """How many are held up, how long, and how soon is it over?"""
    return Told(
        estimate(held.held_up),
        single_range(held.held_up),
        estimate(held.longest_s),
        single_range(held.longest_s),
        estimate(held.recovered_s),
        held.down.at_m <= RECALL_WINDOW_M,
    )
