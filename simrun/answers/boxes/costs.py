"""What does a box cost, whoever stands in it? The teams and the races taken out of what was measured.

Held fixed: the same teams stand in every box. A value y of the team t that stood in box b in the race of seed
s is y = seed s + team t + box b + chance, and the boxes' part is solved for by least squares. Where the seeds
make whole blocks of the draw and every box is full that is the box's mean less the mean of all boxes; else it
takes out what the missing seeds would have made equal.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def costs_by_seed(values: Array, box: NDArray[np.int64], boxes: list[int]) -> Array:
    """Every box against the average box, seed by seed, teams and seeds taken out: (B, S).

    The mean over the seeds is the cost.

    values, box (S, T): of every team in every race; nan in values where there is none. nan in a seed in which
    nobody stood in the box, and everywhere where boxes cannot be told from teams (one race alone). The spread
    over the seeds is widened by what the teams and seeds have used up of the freedom, so that an interval of
    these is honest. Check: tests/unit/answers/test_box_costs.py (share of intervals that hold the truth).
    """
    known = ~np.isnan(values)
    unknown = np.full((len(boxes), len(values)), np.nan)
    seed, team = np.nonzero(known)
    at = np.searchsorted(boxes, box[known])
    columns = [_ones(seed), _ones(team), _ones(at)]
    design = np.hstack(columns)
    found, _, rank, _ = np.linalg.lstsq(design, values[known], rcond=None)
    # Seeds, teams and boxes each hold the mean once: two of three are not to be told from the others.
    if rank < design.shape[1] - 2 or not len(at):
        return unknown
    effect = found[-columns[2].shape[1] :]
    present = np.unique(at)
    cost = np.full(len(boxes), np.nan)
    cost[present] = effect - effect.mean()
    rest = values[known] - design @ found
    free = len(at) - rank
    wider = np.sqrt((len(at) - len(present)) / free) if free > 0 else np.nan
    unknown[at, seed] = cost[at] + (wider * rest if free > 0 else np.nan)
    return unknown


def _ones(index: NDArray[np.int64]) -> Array:
    """A column for each number that occurs, 1 where it does: (M, K)."""
    numbers = np.unique(index)
    return np.asarray(index[:, None] == numbers, dtype=np.float64)
