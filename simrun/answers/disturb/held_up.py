"""Who was held up by somebody down? Delays of every runner and seed, and the figures read off them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.engine.down import Down
from simrun.trials.how_sure import Points, Sure, by_chance_alone, single_ranges, sure

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]
Range = tuple[float, float]

HELD_UP_S = 1.0
GROUP = 5
RECALL_WINDOW_M = 100.0
"""Where a fall by contact may lead to a recall. Source: starter's instructions of a US federation (seen)."""


@dataclass(frozen=True)
class Held:
    """What the stop did: S seeds, N runners.

    passed_s (S, N): when each was at the point with nobody down; delay_s (S, N): how much later each was
    behind it with somebody down, nan for those who never came so far. from_s (S,): since when. placebo_s
    (S, N): delays as delay_s, with everybody moved by 2 cm at that moment and nobody down: a crowd is
    chaotic, and whatever is changed makes some later and as many earlier. points (S,): of the inputs, where
    they were drawn.
    """

    down: Down
    passed_s: Array
    delay_s: Array
    from_s: Array
    placebo_s: Array
    points: Points | None = None

    @property
    def held_up(self) -> Array:
        """How many more are later by more than a second than with the placebo, seed by seed? (S,)"""
        return _later(self.delay_s) - _later(self.placebo_s)

    @property
    def by_chance(self) -> Array:
        """How many are later by more than a second with the placebo? (S,)"""
        return _later(self.placebo_s)

    @property
    def net_s(self) -> Array:
        """Seconds that the field loses in all, who comes earlier counted too: (S,)."""
        return np.asarray(np.nansum(self.delay_s, axis=1))

    @property
    def net_placebo_s(self) -> Array:
        """The same with the placebo: about nothing. Check: tests/validation/test_disturbance.py."""
        return np.asarray(np.nansum(self.placebo_s, axis=1))

    @property
    def longest_s(self) -> Array:
        """The delay of the runner held up longest, (S,)."""
        return np.nanmax(self.delay_s, axis=1)

    @property
    def recovered_s(self) -> Array:
        """How long after the way is clear again does the last group held up pass? (S,), 0 for nobody.

        A group: so many who would have passed one after the other, later by more than a second in their mean.
        One alone is late by chance now and then.
        """
        return np.array(
            [
                _last_late_s(passed, delay) - begun - self.down.for_s
                for passed, delay, begun in zip(
                    self.passed_s, self.delay_s, self.from_s, strict=True
                )
            ]
        ).clip(0.0)


def _later(delay_s: Array) -> Array:
    return (delay_s > HELD_UP_S).sum(axis=1).astype(float)


def _last_late_s(passed_s: Array, delay_s: Array) -> float:
    """When did the last of the last group held up pass? -inf for nobody."""
    known = ~np.isnan(passed_s + delay_s)
    order = np.flatnonzero(known)[np.argsort(passed_s[known], kind="stable")]
    if len(order) < GROUP:
        return -np.inf
    means = np.convolve(delay_s[order], np.full(GROUP, 1 / GROUP), mode="valid")
    late = np.flatnonzero(means > HELD_UP_S)
    if not len(late):
        return -np.inf
    group = order[late[-1] : late[-1] + GROUP]
    return float((passed_s[group] + delay_s[group]).max())


@dataclass(frozen=True)
class Figures:
    """The figures of a disturbance: means with their ranges, and ranges of single races, chance alone too.

    held_up, net: against the placebo, and of the placebo itself (by_chance, net_placebo), which is chance
    alone whatever the inputs are.
    """

    held_up: Sure
    by_chance: Sure
    net: Sure
    net_placebo: Sure
    held_up_range: Range
    held_up_chance: Range
    longest: Sure
    longest_range: Range
    longest_chance: Range
    recovered: Sure
    in_recall_window: bool


def figures_of(held: Held) -> Figures:
    """How many are held up, how long, and how soon is it over?"""
    return Figures(
        sure(held.held_up, held.points),
        sure(held.by_chance, held.points),
        sure(held.net_s, held.points),
        by_chance_alone(held.net_placebo_s),
        *single_ranges(held.held_up, held.points),
        sure(held.longest_s, held.points),
        *single_ranges(held.longest_s, held.points),
        sure(held.recovered_s, held.points),
        held.down.at_m <= RECALL_WINDOW_M,
    )


def table_of_delays(held: Held) -> pandas.DataFrame:
    """A row a seed and runner: when each was at the point with nobody down, how much later with somebody
    down, and how much later with everybody nudged and nobody down.
    """
    import pandas as pd

    seeds, count = held.delay_s.shape
    return pd.DataFrame(
        {
            "seed": np.repeat(np.arange(1, seeds + 1), count),
            "runner": np.tile(np.arange(1, count + 1), seeds),
            "passed_s": held.passed_s.ravel(),
            "delay_s": held.delay_s.ravel(),
            "placebo_s": held.placebo_s.ravel(),
        }
    )
