"""Would the program of today run the table's races? Some of its days are run anew, by the processor.

`python -m simrun.trials.handbook.checked [DAYS]` runs so many of the days in cpu_days.csv (4 unless told),
small and large, and where every box costs what stands there, to the last digit, notes in about.json and
model.json that this state of the engine gives the same races. Estimates then do not call theirs older.

A table that was made on a card cannot be told to the last digit without one, so some of its fitted days are
run by the processor too, by the same state of the engine: `... checked --keep 12` writes them down as
cpu_days.csv. That both engines agree is another question (tests/agreement).
Check: tests/unit/trials/test_handbook.py.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.base.csv import write_csv
from simrun.base.errors import BadRecording
from simrun.base.writing import write_text
from simrun.state.engine_digest import engine_digest
from simrun.trials.handbook.estimate_model import FILE, model_folder
from simrun.trials.handbook.handbook_table import (
    SAME,
    day_rows,
    read_about,
    read_days,
    same_engine,
    write_about,
)
from simrun.trials.handbook.making import SEED_OF
from simrun.trials.handbook.races_of_days import outcomes_of
from simrun.trials.handbook.space_filling import days

if TYPE_CHECKING:
    import pandas

CPU_DAYS = "cpu_days.csv"
LAST_DIGIT_S = 6e-4
"""Costs stand there with three decimals."""


def run_anew(row: pandas.Series) -> Any:
    """What the boxes of a fitted day cost, run by the engine of today: (marks x boxes,) as in the table."""
    number = int(row.day)
    day = days(number, SEED_OF["fit"])[-1]
    rows = day_rows(number, outcomes_of([(number, day)], int(row.races))[0])
    return np.array([one["cost_s"] for one in rows])


def spread_by_size(days_of: pandas.DataFrame, count: int) -> pandas.DataFrame:
    """So many of these days, from the smallest field to the largest."""
    part = days_of.assign(size=days_of.boxes * days_of.runners).sort_values(["size", "day"])
    return part.iloc[np.unique(np.linspace(0, len(part) - 1, count).round().astype(int))]


def keep(folder: Path, count: int) -> Path:
    """Run so many fitted days by the processor, and write down what their boxes cost.

    Raises BadRecording where the engine of today is not the one that made the table.
    """
    import pandas as pd

    if read_about(folder)["engine"] != engine_digest():
        raise BadRecording(f"{folder}: its races were run by another state of the engine")
    table = read_days(folder)
    rows = []
    for _, row in spread_by_size(table[table.use == "fit"], count).iterrows():
        costs = run_anew(row)
        rows += [(int(row.day), at, round(float(cost), 3)) for at, cost in enumerate(costs)]
    return write_csv(pd.DataFrame(rows, columns=["day", "at", "cost_s"]), folder / CPU_DAYS)


def differing(folder: Path, count: int) -> list[int]:
    """Which of so many of the days that were kept cost something else now?"""
    import pandas as pd

    table, kept = read_days(folder), pd.read_csv(folder / CPU_DAYS)
    there = table[(table.use == "fit") & table.day.isin(kept.day)]
    wrong = []
    for _, row in spread_by_size(there, count).iterrows():
        costs = kept[kept.day == row.day].cost_s.to_numpy()
        if not np.allclose(costs, run_anew(row), rtol=0.0, atol=LAST_DIGIT_S, equal_nan=True):
            wrong.append(int(row.day))
    return wrong


def note_same(folder: Path) -> None:
    """Note that the engine of today runs the same races."""
    about = read_about(folder)
    if not same_engine(about):
        about = about | {SAME: [*about.get(SAME, ()), engine_digest()]}
    write_about(folder, about)
    content = json.loads((folder / FILE).read_text("utf-8"))
    write_text(folder / FILE, json.dumps(content | {"about": about}, separators=(",", ":")) + "\n")


def main(words: Sequence[str]) -> int:
    """Run some days anew, and note it where they are the same; 1 where they are not."""
    if words[:1] == ["--keep"]:
        keep(model_folder(), int(words[1]))
        return 0
    count = int(words[0]) if words else 4
    wrong = differing(model_folder(), count)
    if wrong:
        sys.stderr.write(f"days {wrong} cost something else now: the table is of another engine\n")
        return 1
    note_same(model_folder())
    sys.stderr.write(f"{count} days come out to the last digit: noted\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
