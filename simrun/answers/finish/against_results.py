"""How do the simulated races stand against last year's results? Times by place at every common checkpoint."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import nearest_word
from simrun.runners.results import Results
from simrun.trials.races import Outcome
from simrun.trials.statistics import single_range

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

SHARES = {"first": 0.0, "a quarter in": 0.25, "middle": 0.5, "three quarters in": 0.75, "last": 1.0}


def against_results(
    outcomes: Sequence[Outcome], checkpoints: Sequence[str], results: Results
) -> pandas.DataFrame:
    """One row a checkpoint and place in the field: theirs, ours in the mean, and the range of our races.

    Places are shares of those who arrived, so fields of different size compare. their_s, our_s, our_low_s,
    our_high_s in seconds; inside: does theirs lie within what eight of ten of our races brought?
    Check: tests/unit/runners/test_results.py.
    """
    import pandas as pd

    columns = {name.casefold(): values for name, values in results.splits.items()}
    columns[checkpoints[-1].casefold()] = results.time_s
    rows = []
    for c, name in enumerate(checkpoints):
        theirs = columns.get(name.casefold())
        if theirs is None or np.isnan(theirs).all():
            continue
        for words, share in SHARES.items():
            ours = [_at(outcome.crossing_s[:, c], share) for outcome in outcomes]
            low, high = single_range(ours)
            their_s = _at(theirs, share)
            rows.append(
                {
                    "checkpoint": name,
                    "place": words,
                    "their_s": their_s,
                    "our_s": float(np.nanmean(ours)),
                    "our_low_s": low,
                    "our_high_s": high,
                    "inside": bool(low <= their_s <= high),
                }
            )
    return pd.DataFrame(rows)


def _at(time_s: Array, share: float) -> float:
    known = np.sort(time_s[~np.isnan(time_s)])
    return float(known[round(share * (len(known) - 1))]) if len(known) else float("nan")


def unknown_columns(checkpoints: Sequence[str], results: Results) -> dict[str, str]:
    """Which of their columns of times fit no checkpoint of ours, and which of ours is the nearest, if any?"""
    known = {name.casefold() for name in checkpoints}
    lost = [name for name in results.splits if name.casefold() not in known]
    return {name: nearest_word(name, list(checkpoints)) for name in lost}
