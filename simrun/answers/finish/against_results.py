"""How do the simulated races stand against last year's results? Place by place at every mark, and which
stretch is run too slowly or too fast, by whom."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import nearest_word
from simrun.runners.results import Results
from simrun.trials.how_sure import Points, single_ranges
from simrun.trials.races import Outcome
from simrun.trials.statistics import holm

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

GUN = "gun"
THIRDS = ("first third", "middle third", "last third")
FEWEST_IN_THIRD = 3
OFF = 0.05
"""A stretch is off where so unlikely a difference stays once all of them have been looked at."""


def by_place(
    outcomes: Sequence[Outcome],
    checkpoints: Sequence[str],
    results: Results,
    points: Points | None = None,
) -> pandas.DataFrame:
    """Every place at every common mark, a row each: theirs, ours in the mean, what eight of ten brought.

    Places are shares of those who arrived (0 the first, 1 the last), so fields of different size compare; a
    time between two of ours is read between them. off_s: ours less theirs. inside: does theirs lie within
    what eight of ten of our races brought? For how many that is so of a true model: `expected_inside`.
    chance_low, chance_high: that range by chance alone. Check: tests/unit/answers/test_against_results.py.
    """
    import pandas as pd

    rows = []
    for name, theirs in _theirs(checkpoints, results).items():
        column = _column(checkpoints, name)
        known = np.sort(theirs[~np.isnan(theirs)])
        shares = np.linspace(0.0, 1.0, len(known)) if len(known) > 1 else np.zeros(1)
        ours = np.stack([_at(outcome.crossing_s[:, column], shares) for outcome in outcomes])
        for place, (their_s, values) in enumerate(zip(known, ours.T, strict=True), 1):
            (low, high), (chance_low, chance_high) = single_ranges(values, points)
            mean = float(np.nanmean(values)) if np.isfinite(values).any() else math.nan
            rows.append(
                {
                    "checkpoint": name,
                    "place": place,
                    "share": float(shares[place - 1]),
                    "their_s": float(their_s),
                    "our_s": mean,
                    "our_low_s": low,
                    "our_high_s": high,
                    "chance_low": chance_low,
                    "chance_high": chance_high,
                    "off_s": mean - float(their_s),
                    "inside": bool(low <= their_s <= high),
                }
            )
    return pd.DataFrame(rows)


def expected_inside(races: int) -> float:
    """Which share of the times of one more race of our own lies within what eight of ten of so many brought?

    The 10th percentile of n values, read between them, stands at rank 1 + (n - 1) / 10, and a value of rank k
    leaves k / (n + 1) below it: together 0.8 (n - 1) / (n + 1). Source: order statistics, textbook; memory.
    Check: tests/unit/answers/test_against_results.py.
    """
    return 0.8 * (races - 1) / (races + 1)


def by_stretch(
    outcomes: Sequence[Outcome],
    checkpoints: Sequence[str],
    results: Results,
    points: Points | None = None,
) -> pandas.DataFrame:
    """Where is the model off, and by how much? A row a stretch between common marks and third.

    their_s, our_s: mean seconds of the third for the stretch. off_s: ours less theirs. p: how unlikely so
    large a difference is for one more race of ours, (theirs - mean) / (sd sqrt(1 + 1 / n)) by Student's t,
    where n counts the points of the inputs, or the races where none are drawn; holm: once every row has been
    looked at. is_off: below 0.05. A third of which fewer than three are known at both marks is left out.
    Check: tests/unit/answers/test_against_results.py (a race of the model's own is off nowhere; what is made
    slower is named).
    """
    import pandas as pd

    theirs = _theirs(checkpoints, results)
    if not theirs:
        return pd.DataFrame()
    names = [GUN, *theirs]
    their_marks = _from_gun(list(theirs.values()))
    columns = [_column(checkpoints, name) for name in theirs]
    ours = [_from_gun([o.crossing_s[:, c] for c in columns]) for o in outcomes]
    count = len(outcomes) if points is None else len(np.unique(points))
    rows = []
    for s, (begin, end) in enumerate(pairwise(names)):
        found = _thirds(their_marks, results.time_s, s)
        each = np.stack(
            [
                _thirds(marks, o.crossing_s[:, -1], s)
                for marks, o in zip(ours, outcomes, strict=True)
            ]
        )
        for third, their_s, values in zip(THIRDS, found, each.T, strict=True):
            if math.isnan(their_s) or np.isnan(values).any():
                continue
            mean = float(values.mean())
            rows.append(
                {
                    "from": begin,
                    "to": end,
                    "third": third,
                    "their_s": float(their_s),
                    "our_s": mean,
                    "off_s": mean - float(their_s),
                    "p": _doubt(float(their_s), values, count),
                }
            )
    table = pd.DataFrame(rows)
    if len(table):
        table["holm"] = holm(table["p"].tolist())
        table["is_off"] = table["holm"] < OFF
    return table


def _doubt(theirs: float, ours: Array, count: int) -> float:
    """How unlikely is theirs as one more of ours?"""
    from scipy import stats

    if count < 2:
        return 1.0
    spread = float(ours.std(ddof=1)) * math.sqrt(1 + 1 / count)
    off = abs(theirs - float(ours.mean()))
    if spread == 0:
        return float(off == 0)
    return float(2 * stats.t.sf(off / spread, count - 1))


def _theirs(checkpoints: Sequence[str], results: Results) -> dict[str, Array]:
    """Their times at our marks, in the order of the course; the finish is our last mark."""
    columns = {name.casefold(): values for name, values in results.splits.items()}
    columns[checkpoints[-1].casefold()] = results.time_s
    found = {name: columns.get(name.casefold()) for name in checkpoints}
    return {
        n: times for n, times in found.items() if times is not None and not np.isnan(times).all()
    }


def _column(checkpoints: Sequence[str], name: str) -> int:
    return list(checkpoints).index(name)


def _from_gun(marks: Sequence[Array]) -> Array:
    """Everybody's times at the marks with the gun before them: (N, marks + 1)."""
    return np.stack([np.zeros_like(marks[0]), *marks], axis=1)


def _thirds(marks_s: Array, finish_s: Array, stretch: int) -> Array:
    """Mean seconds of each third of the finishers for a stretch, (3,), nan where too few are known."""
    run = marks_s[:, stretch + 1] - marks_s[:, stretch]
    order = np.argsort(finish_s, kind="stable")
    order = order[~np.isnan(finish_s[order])]
    found = [run[some] for some in np.array_split(order, len(THIRDS))]
    known = [each[~np.isnan(each)] for each in found]
    return np.array([e.mean() if len(e) >= FEWEST_IN_THIRD else math.nan for e in known])


def _at(time_s: Array, shares: Array) -> Array:
    """The times at these shares of those who arrived, (shares,)."""
    known = time_s[~np.isnan(time_s)]
    return np.quantile(known, shares) if len(known) else np.full(len(shares), math.nan)


def unknown_columns(checkpoints: Sequence[str], results: Results) -> dict[str, str]:
    """Which of their columns of times fit no checkpoint of ours, and which of ours is the nearest, if any?"""
    known = {name.casefold() for name in checkpoints}
    lost = [name for name in results.splits if name.casefold() not in known]
    return {name: nearest_word(name, list(checkpoints)) for name in lost}
