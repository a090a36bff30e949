"""What did the races bring every team and each of our runners? Means, and what eight races in ten brought."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simrun.measure.finish import start_mark
from simrun.measure.scoring import TeamScore, team_scores
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Points, single_ranges
from simrun.trials.races import Outcome

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]


def scores_of(outcome: Outcome, names: Sequence[str]) -> dict[str, TeamScore]:
    """The team scores of one race by team; a runner who did not finish does not count."""
    time_s = outcome.crossing_s[:, -1]
    order = [i for i in time_s.argsort(kind="stable") if time_s[i] == time_s[i]]
    return {s.team: s for s in team_scores([names[outcome.team_index[i]] for i in order])}


def team_ranges(
    outcomes: Sequence[Outcome], names: Sequence[str], points: Points | None = None
) -> pandas.DataFrame:
    """Points, rank and share of wins of every team over the races, the best mean first.

    races: in how many it had five at the finish. points_low, points_high, rank_low, rank_high: what
    eight of ten of those races brought (10th and 90th percentile), nan for a team without any.
    wins_share: of all races. With `points` of the inputs (`trials.how_sure`) the columns `chance` say what
    eight of ten would bring by chance alone; without, they are the same.
    Check: tests/unit/measure/test_finish.py.
    """
    import pandas as pd

    scored = [scores_of(outcome, names) for outcome in outcomes]
    rows = []
    for name in names:
        scores = [found[name].points if name in found else np.nan for found in scored]
        rank = np.array([found[name].rank if name in found else np.nan for found in scored])
        rows.append(
            {
                "team": name,
                "races": int(np.isfinite(rank).sum()),
                "points_mean": np.nanmean(scores) if np.isfinite(scores).any() else np.nan,
                **_ranges("points", scores, points),
                **_ranges("rank", rank, points),
                "wins_share": float((rank == 1).mean()),
            }
        )
    return pd.DataFrame(rows).sort_values("points_mean", kind="stable", ignore_index=True)


def _ranges(name: str, values: ArrayLike, points: Points | None) -> dict[str, float]:
    """What eight of ten races brought, and what they would by chance alone."""
    (low, high), (chance_low, chance_high) = single_ranges(values, points)
    return {
        f"{name}_low": low,
        f"{name}_high": high,
        f"{name}_chance_low": chance_low,
        f"{name}_chance_high": chance_high,
    }


def our_ranges(
    outcomes: Sequence[Outcome], scenario: Scenario, points: Points | None = None
) -> pandas.DataFrame:
    """Our runners in the order of their finish: place, time, and box and traffic lost by the start's end
    and by the finish, each as mean and as the range of eight races in ten; points as of `team_ranges`."""
    import pandas as pd

    index = [team.name for team in scenario.teams].index(str(scenario.our_team))
    begin = start_mark(scenario.strip)
    values = np.stack([_ours(outcome, index, begin) for outcome in outcomes])
    table: dict[str, Any] = {"our": np.arange(1, values.shape[1] + 1)}
    for column, name in enumerate(("place", "time_s", "start_lost_s", "lost_s")):
        seen = values[:, :, column]
        table[f"{name}_mean"] = [_mean(each) for each in seen.T]
        each = [_ranges(name, values, points) for values in seen.T]
        table |= {column: [row[column] for row in each] for column in each[0]}
    return pd.DataFrame(table)


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if np.isfinite(values).any() else np.nan


def _ours(outcome: Outcome, index: int, begin: int) -> Array:
    """Place, time, lost by the start's end and by the finish, of our runners as they came in: (R, 4)."""
    here = outcome.team_index == index
    lost = outcome.crossing_s - outcome.alone_s + outcome.shortest_s - outcome.best_s
    columns = [outcome.place[:, -1], outcome.crossing_s[:, -1], lost[:, begin], lost[:, -1]]
    ours = np.stack(columns, axis=1)[here]
    return np.asarray(ours[ours[:, 1].argsort(kind="stable")], dtype=np.float64)
