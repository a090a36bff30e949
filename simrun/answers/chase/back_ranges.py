"""What do many races say of what is run back, and of the kick? Means, intervals, ranges of single races."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.engine.set_back import BY_PLAN
from simrun.trials.statistics import Estimate, estimate, paired, single_range

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

MEANS = ("start_s", "finish_s", "back_s", "places", "points", "kept_m", "left_m")
RANGES = ("finish_s", "back_s", "places", "points")


def back_ranges(lost: pandas.DataFrame) -> pandas.DataFrame:
    """A row an amount in hand, delay and way, of the rows of `trials.run_back.lost_table`.

    Of every figure the mean over the races; of some what eight races in ten brought (p10, p90). chased_s: by
    how much earlier at the finish than by plan with the same delay, paired by seed, with its 95 % interval
    (low, high) and p-value. races: in how many there was a figure. Check: tests/unit/answers/test_chase.py.
    """
    import pandas as pd

    rows = []
    for (hand, delay), some in lost.groupby(["in_hand_m", "delay_s"], sort=False):
        plan = _values(some, BY_PLAN, "finish_s")
        for way in some["way"].unique():
            row: dict[str, Any] = {"in_hand_m": hand, "delay_s": delay, "way": way}
            row["races"] = int(np.isfinite(_values(some, way, "finish_s")).sum())
            for name in MEANS:
                row[f"{name}_mean"] = _mean(_values(some, way, name))
            for name in RANGES:
                ends = single_range(_values(some, way, name))
                row |= dict(zip((f"{name}_p10", f"{name}_p90"), ends, strict=True))
            found = paired(plan, _values(some, way, "finish_s"))
            row |= {"chased_s": found.mean, "chased_s_low": found.low, "chased_s_high": found.high}
            rows.append(row | {"chased_p": found.p_value})
    return pd.DataFrame(rows)


def kick_ranges(kick: pandas.DataFrame) -> pandas.DataFrame:
    """A row an amount in hand, way and distance to go, of the rows of `trials.run_back.kick_table`.

    our_places with its 95 % interval (low, high); our_most, winners and most with what eight races in ten
    brought (p10, p90). Check: tests/unit/answers/test_chase.py.
    """
    import pandas as pd

    rows = []
    for (hand, way, far), some in kick.groupby(["in_hand_m", "way", "to_go_m"], sort=False):
        found = estimate(some["our_places"])
        row: dict[str, Any] = {"in_hand_m": hand, "way": way, "to_go_m": far}
        row |= {"our_places": found.mean, "our_places_low": found.low}
        row |= {"our_places_high": found.high}
        for name in ("our_most", "winners", "most"):
            ends = single_range(some[name])
            row[f"{name}_mean"] = _mean(some[name].to_numpy(float))
            row |= dict(zip((f"{name}_p10", f"{name}_p90"), ends, strict=True))
        rows.append(row)
    return pd.DataFrame(rows)


def chased(row: dict[str, Any]) -> Estimate:
    """By how much earlier at the finish than by plan? Out of a row of `back_ranges`."""
    ends = row["chased_s_low"], row["chased_s_high"]
    return Estimate(row["chased_s"], *ends, row["races"], row["chased_p"])


def _values(some: pandas.DataFrame, way: str, name: str) -> Array:
    """One value a seed, in the order of the seeds."""
    return some.loc[some["way"] == way, name].to_numpy(float)


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if np.isfinite(values).any() else np.nan
