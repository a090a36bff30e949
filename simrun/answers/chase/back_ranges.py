"""What do many races say of what is run back, and of the kick? Means, intervals, ranges of single races."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.engine.set_back import BY_PLAN
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Points, Sure, points_of, single_ranges, sure

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

MEANS = ("start_s", "finish_s", "back_s", "places", "points", "kept_m", "left_m")
RANGES = ("finish_s", "back_s", "places", "points")


def back_ranges(lost: pandas.DataFrame, points: Points | None = None) -> pandas.DataFrame:
    """A row an amount in hand, delay and way, of the rows of `trials.run_back.lost_table`.

    Of every figure the mean over the races; of some what eight races in ten brought (p10, p90). chased_s: by
    how much earlier at the finish than by plan with the same delay, paired by seed, with its 95 % range
    (low, high) and p-value. races: in how many there was a figure. With `points` of the inputs, one a seed
    (`trials.how_sure`), the columns `chance` say what chance alone would leave of every range; without, they
    are the same. Check: tests/unit/answers/test_chase.py.
    """
    import pandas as pd

    rows = []
    for (hand, delay), some in lost.groupby(["in_hand_m", "delay_s"], sort=False):
        for way in some["way"].unique():
            row: dict[str, Any] = {"in_hand_m": hand, "delay_s": delay, "way": way}
            row["races"] = int(np.isfinite(_values(some, way, "finish_s")).sum())
            for name in MEANS:
                row[f"{name}_mean"] = _mean(_values(some, way, name))
            for name in RANGES:
                row |= _eight_of_ten(name, _values(some, way, name), points)
            found = chased(some, way, points)
            rows.append(row | found.columns("chased_s") | {"chased_p": found.p_value})
    return pd.DataFrame(rows)


def kick_ranges(kick: pandas.DataFrame, points: Points | None = None) -> pandas.DataFrame:
    """A row an amount in hand, way and distance to go, of the rows of `trials.run_back.kick_table`.

    our_places with its 95 % range (low, high); our_most, winners and most with what eight races in ten
    brought (p10, p90); points and the columns `chance` as of `back_ranges`.
    Check: tests/unit/answers/test_chase.py.
    """
    import pandas as pd

    rows = []
    for (hand, way, far), some in kick.groupby(["in_hand_m", "way", "to_go_m"], sort=False):
        row: dict[str, Any] = {"in_hand_m": hand, "way": way, "to_go_m": far}
        row |= sure(some["our_places"], points).columns("our_places")
        for name in ("our_most", "winners", "most"):
            values = some[name].to_numpy(float)
            row[f"{name}_mean"] = _mean(values)
            row |= _eight_of_ten(name, values, points)
        rows.append(row)
    return pd.DataFrame(rows)


def points_in(day: Scenario, lost: pandas.DataFrame) -> Points | None:
    """Which point of the inputs did every race of an arm meet? (S,), by seed; None where none are drawn."""
    return points_of(day, [int(seed) for seed in lost["seed"].unique()])


def chased(some: pandas.DataFrame, way: str, points: Points | None = None) -> Sure:
    """By how much earlier at the finish than by plan? some: the races of one delay and amount in hand."""
    plan = _values(some, BY_PLAN, "finish_s")
    return sure(plan - _values(some, way, "finish_s"), points)


def _eight_of_ten(name: str, values: Array, points: Points | None) -> dict[str, float]:
    """What eight races of ten brought, and what they would by chance alone."""
    whole, chance = single_ranges(values, points)
    names = (f"{name}_{end}" for end in ("p10", "p90", "chance_p10", "chance_p90"))
    return dict(zip(names, (*whole, *chance), strict=True))


def _values(some: pandas.DataFrame, way: str, name: str) -> Array:
    """One value a seed, in the order of the seeds."""
    return some.loc[some["way"] == way, name].to_numpy(float)


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if np.isfinite(values).any() else np.nan
