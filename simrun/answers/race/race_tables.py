"""Which tables does one race give?"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from simrun.base.csv import write_csv
from simrun.measure.finish import carried, finish_table, reaches_finish, team_table
from simrun.measure.loss import summary, time_lost
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas


def race_tables(recording: Recording) -> dict[str, pandas.DataFrame]:
    """Everybody's loss, by box, by line and by both; where the finish is reached places and scores."""
    loss = time_lost(recording)
    tables = {
        "loss": loss,
        "boxes": summary(loss, ["box"]),
        "lines": summary(loss, ["line"]),
        "boxes_lines": summary(loss, ["box", "line"]),
    }
    if reaches_finish(recording.strip):
        finish = finish_table(recording)
        tables |= {"finish": finish, "teams": team_table(recording), "carried": carried(finish)}
    return tables


def write_tables(tables: Mapping[str, pandas.DataFrame], folder: Path) -> list[Path]:
    """A CSV file a table. Raises CannotWrite."""
    return [write_csv(table, folder / f"{name}.csv") for name, table in tables.items()]
