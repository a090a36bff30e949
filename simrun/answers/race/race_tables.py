"""Which tables does one race give?"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.csv import write_csv
from simrun.measure.finish import carried, finish_table, reaches_finish, team_table
from simrun.measure.loss import BESIDE, summary, time_lost
from simrun.state.recording import Recording
from simrun.trials.as_raced import openings

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]


def race_tables(
    recording: Recording, front_adds_s: Array | None = None
) -> dict[str, pandas.DataFrame]:
    """Everybody's loss, by box, by line and by both; where the finish is reached places and scores.

    front_adds_s (N, C): of a race for places, how much of the traffic comes of the pull towards the front;
    then the openings and what everybody has left at every mark are told too.
    """
    loss = time_lost(recording)
    if front_adds_s is not None:
        loss[BESIDE] = front_adds_s.ravel()
    tables = {
        "loss": loss,
        "boxes": summary(loss, ["box"]),
        "lines": summary(loss, ["line"]),
        "boxes_lines": summary(loss, ["box", "line"]),
    }
    if front_adds_s is not None:
        tables |= {"openings": openings(recording), "left": _left(recording)}
    if reaches_finish(recording.strip):
        finish = finish_table(recording)
        tables |= {"finish": finish, "teams": team_table(recording), "carried": carried(finish)}
    return tables


def _left(recording: Recording) -> pandas.DataFrame:
    """A row a runner and checkpoint: metres left of the reserve in the race, and alone with the same plan."""
    import pandas as pd

    names, roster = [mark.name for mark in recording.strip.checkpoints], recording.roster
    return pd.DataFrame(
        {
            "runner": np.repeat(np.array(roster.name), len(names)),
            "team": np.repeat(roster.team, len(names)),
            "checkpoint": np.tile(np.array(names), len(roster)),
            "left_m": recording.reserve_m.ravel(),
            "left_alone_m": recording.alone_reserve_m.ravel(),
        }
    )


def write_tables(tables: Mapping[str, pandas.DataFrame], folder: Path) -> list[Path]:
    """A CSV file a table. Raises CannotWrite."""
    return [write_csv(table, folder / f"{name}.csv") for name, table in tables.items()]
