"""Who finished where, and what became of the time lost at the start?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Strip
from simrun.measure.loss import places
from simrun.measure.scoring import race_scores
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

START_ENDS_M = 400.0
"""The start is over at the first checkpoint from here on."""

FINISH_WITHIN_M = 0.5
"""A checkpoint so near to the end of the measured line is the finish: nobody draws to the centimetre."""

THIRDS = ("least", "middle", "most")
"""The thirds of the field by the time they lost at the start."""


def reaches_finish(strip: Strip) -> bool:
    """Is the last checkpoint the finish, with another before it, so that a race is run to its end?"""
    short_m = strip.length_m - strip.checkpoints[-1].station_m
    return short_m <= FINISH_WITHIN_M and len(strip.checkpoints) > 1


def start_mark(strip: Strip) -> int:
    """At which checkpoint is the start over? The first from START_ENDS_M on, but never the finish."""
    at_m = np.array([mark.station_m for mark in strip.checkpoints[:-1]])
    beyond = np.flatnonzero(at_m >= START_ENDS_M)
    return int(beyond[0]) if len(beyond) else len(at_m) - 1


def finish_table(recording: Recording) -> pandas.DataFrame:
    """Place, time and team place of everybody, and the time lost at the start carried to the finish.

    One row a runner, the winner first; who did not finish comes last, with nan. start_lost_s, lost_s:
    box, traffic and racing of `time_lost`, at `start_mark` and at the finish (what is chased back is made
    up); lines taken later are no matter of the start. made_up_s: the first less the second; a minus is
    more time lost on the way. start_reserve_m, reserve_m: what was then left of the metres above the
    critical speed. paid_m: metres of the reserve spent between the two beyond what the same runner spends
    alone there; a minus was saved.
    Check: tests/unit/measure/test_finish.py.
    """
    import pandas as pd

    begin, roster = start_mark(recording.strip), recording.roster
    lost = recording.crossing_s - recording.alone_s + recording.shortest_s - recording.best_s
    place, at_start = places(recording.crossing_s)[:, -1], places(recording.crossing_s)[:, begin]
    left = recording.reserve_m[:, begin] - recording.reserve_m[:, -1]
    alone = recording.alone_reserve_m[:, begin] - recording.alone_reserve_m[:, -1]
    table = pd.DataFrame(
        {
            "place": pd.array(place, dtype="Float64").astype("Int64"),
            "runner": np.array(roster.name),
            "team": roster.team,
            "box": roster.box,
            "time_s": recording.crossing_s[:, -1],
            "start_place": pd.array(at_start, dtype="Float64").astype("Int64"),
            "start_lost_s": lost[:, begin],
            "lost_s": lost[:, -1],
            "made_up_s": lost[:, begin] - lost[:, -1],
            "start_reserve_m": recording.reserve_m[:, begin],
            "reserve_m": recording.reserve_m[:, -1],
            "paid_m": left - alone,
        }
    )
    return table.sort_values("time_s", kind="stable", na_position="last", ignore_index=True)


def carried(table: pandas.DataFrame) -> pandas.DataFrame:
    """What became of the time lost at the start? The field in thirds by how much they had lost there.

    Means of those who finished: start_lost_s, lost_s, made_up_s, paid_m; and how many gained places.
    """
    import pandas as pd

    there = table.dropna(subset=["start_lost_s", "lost_s"])
    rank = there["start_lost_s"].rank(method="first")
    third = np.minimum(2, ((rank - 1) * 3 // max(1, len(there))).astype(int))
    groups = there.assign(
        third=third, gained=(there["start_place"] - there["place"] > 0).astype(int)
    ).groupby("third")
    names = ["start_lost_s", "lost_s", "made_up_s", "paid_m"]
    means = groups[names].mean()
    counts = pd.DataFrame({"runners": groups.size(), "gained_places": groups["gained"].sum()})
    frame = counts.join(means)
    frame.insert(0, "lost_at_start", [THIRDS[k] for k in frame.index])
    return frame.reset_index(drop=True)


def team_table(recording: Recording) -> pandas.DataFrame:
    """The team scores at the finish, best first: rank, team, points, places of the scorers and displacers."""
    import pandas as pd

    rows = [
        {
            "rank": score.rank,
            "team": score.team,
            "points": score.points,
            "scorers": " ".join(map(str, score.scorers)),
            "displacers": " ".join(map(str, score.displacers)),
        }
        for score in race_scores(recording)
    ]
    return pd.DataFrame(rows, columns=["rank", "team", "points", "scorers", "displacers"])
