"""What did box, line, traffic and racing cost every runner at every checkpoint?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

PARTS = ("lost_s", "box_s", "line_s", "traffic_s", "places_lost", "racing_s")

BESIDE = "front_adds_s"
"""Stands beside the parts in a table of a race for places: how much of the traffic comes of the pull towards
the front (`trials.as_raced.front_adds_s`)."""


def time_lost(recording: Recording) -> pandas.DataFrame:
    """How many seconds and places did each runner lose, and to what? One row a runner and checkpoint.

    lost = field - best splits, with no remainder, into box = shortest - best (the same runner alone, from
    this box against the best), line = alone - shortest (alone on the chosen line against the shortest),
    racing = raced - alone (alone, wishing for what was wished in the race because of the others; nothing
    where nobody races for places) and traffic = field - raced. places_lost is the place taken less the place
    of one's own ability: the one in the order of everybody's time alone from the best box. What one loses
    another gains: over the field its mean is 0. Who did not arrive has nan, never a dropped row. It says what
    became of everybody in this race, from the boxes they stood in, and not what a box costs: a box's mean of
    one draw is also that of the team that stands there. For that the draw is drawn again over many races
    (`simrun boxes`). Check: tests/properties/test_loss_adds_up.py.
    """
    import pandas as pd

    count, checkpoints = recording.crossing_s.shape
    roster = recording.roster
    names = [mark.name for mark in recording.strip.checkpoints]

    def each(values: object) -> NDArray:
        return np.repeat(np.asarray(values), checkpoints)

    place, clear_place = places(recording.crossing_s), clear_places(recording)
    return pd.DataFrame(
        {
            "runner": each(np.array(roster.name)),
            "team": each(roster.team),
            "box": each(roster.box),
            "row": each(roster.row),
            "line": each(roster.line),
            "checkpoint": np.tile(np.array(names), count),
            "field_s": recording.crossing_s.ravel(),
            "alone_s": recording.alone_s.ravel(),
            "best_s": recording.best_s.ravel(),
            "box_s": (recording.shortest_s - recording.best_s).ravel(),
            "line_s": (recording.alone_s - recording.shortest_s).ravel(),
            "traffic_s": (recording.crossing_s - recording.raced_s).ravel(),
            "lost_s": (recording.crossing_s - recording.best_s).ravel(),
            "place": pd.Series(place.ravel()).astype("Int64"),
            "places_lost": pd.Series((place - clear_place).ravel()).astype("Int64"),
            "racing_s": (recording.raced_s - recording.alone_s).ravel(),
        }
    )


def places(crossing_s: Array) -> Array:
    """Who crossed each checkpoint in which place? (N, C), 1 first, equals share the better place."""
    earlier = crossing_s[None, :, :] < crossing_s[:, None, :]
    place = earlier.sum(axis=1) + 1.0
    return np.where(np.isnan(crossing_s), np.nan, place)


def clear_places(recording: Recording) -> Array:
    """In which place would each have crossed, had everybody run alone from the best box? (N, C)

    The order of ability, each with their own plan and start, among those who arrived in the race: so what
    `places` gives less this has a mean of 0. nan for who did not arrive, and for everybody where some were
    not run alone at all. Who alone would come later than the time limit comes last.
    """
    arrived, best = ~np.isnan(recording.crossing_s), recording.best_s
    if (arrived.any(axis=1) & np.isnan(best).all(axis=1)).any():
        return np.full(best.shape, np.nan)
    return places(np.where(arrived, np.where(np.isnan(best), np.inf, best), np.nan))


def summary(table: pandas.DataFrame, by: list[str]) -> pandas.DataFrame:
    """Mean, 10th and 90th percentile and count of every part, by box, line or both, per checkpoint.

    Of BESIDE too, where the table has it.
    `count` is who arrived, `not_arrived` who did not within the limit; means are of those who did.
    """
    import pandas as pd

    order = table["checkpoint"].drop_duplicates().tolist()
    grouped = table.groupby([*by, "checkpoint"])
    times = grouped["field_s"]
    columns: dict[str, pd.Series] = {
        "count": times.count(),
        "not_arrived": times.size() - times.count(),
    }
    for part in (*PARTS, *([BESIDE] if BESIDE in table else [])):
        values = grouped[part]
        found = {"mean": values.mean(), "p10": values.quantile(0.1), "p90": values.quantile(0.9)}
        columns |= {f"{part}_{name}": each.astype(float) for name, each in found.items()}
    frame = pd.DataFrame(columns).reset_index()
    rank = frame["checkpoint"].map({name: i for i, name in enumerate(order)})
    keys = [rank, *[frame[name] for name in reversed(by)]]
    return frame.iloc[np.lexsort(keys)].reset_index(drop=True)
