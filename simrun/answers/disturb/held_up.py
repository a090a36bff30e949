"""Who was held up by somebody down? Delays of every runner and seed, and the figures read off them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.engine.down import Down
from simrun.trials.how_sure import Points, Sure, single_ranges, sure

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]
Range = tuple[float, float]

HELD_UP_S = 1.0
RECALL_WINDOW_M = 100.0
"""Where a fall by contact may lead to a recall. Source: starter's instructions of a US federation (seen)."""


@dataclass(frozen=True)
class Held:
    """What the stop did: S seeds, N runners.

    passed_s (S, N): when each was at the point with nobody down; delay_s (S, N): how much later each was
    behind it with somebody down, nan for those who never came so far. from_s (S,): since when. points (S,):
    of the inputs, where they were drawn.
    """

    down: Down
    passed_s: Array
    delay_s: Array
    from_s: Array
    points: Points | None = None

    @property
    def held_up(self) -> Array:
        """How many are later by more than a second, seed by seed? (S,)"""
        return (self.delay_s > HELD_UP_S).sum(axis=1).astype(float)

    @property
    def longest_s(self) -> Array:
        """The delay of the runner held up longest, (S,)."""
        return np.nanmax(self.delay_s, axis=1)

    @property
    def recovered_s(self) -> Array:
        """How long after the way is clear again does the last runner held up pass? (S,), 0 for nobody."""
        late = np.where(self.delay_s > HELD_UP_S, self.passed_s + self.delay_s, -np.inf)
        after = late.max(axis=1) - (self.from_s + self.down.for_s)
        return np.maximum(0.0, after)


@dataclass(frozen=True)
class Figures:
    """The figures of a disturbance: means with their ranges, and ranges of single races, chance alone too."""

    held_up: Sure
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
        *single_ranges(held.held_up, held.points),
        sure(held.longest_s, held.points),
        *single_ranges(held.longest_s, held.points),
        sure(held.recovered_s, held.points),
        held.down.at_m <= RECALL_WINDOW_M,
    )


def table_of_delays(held: Held) -> pandas.DataFrame:
    """A row a seed and runner: when each was at the point with nobody down, and how much later with."""
    import pandas as pd

    seeds, count = held.delay_s.shape
    return pd.DataFrame(
        {
            "seed": np.repeat(np.arange(1, seeds + 1), count),
            "runner": np.tile(np.arange(1, count + 1), seeds),
            "passed_s": held.passed_s.ravel(),
            "delay_s": held.delay_s.ravel(),
        }
    )
