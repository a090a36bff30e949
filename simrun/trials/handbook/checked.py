"""Would the program of today run the table's races? Some of its days are run anew.

`python -m simrun.trials.handbook.checked [DAYS]` runs so many of the fitted days (4 unless told), small and
large, and where every box costs what the table says, to the last digit, notes in about.json and model.json
that this state of the engine gives the same races. Estimates then do not say that theirs are older.
Check: tests/unit/trials/test_handbook.py.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.base.writing import write_text
from simrun.state.engine_digest import engine_digest
from simrun.trials.handbook.day_scenario import scenario_of
from simrun.trials.handbook.estimate_model import FILE, model_folder
from simrun.trials.handbook.handbook_table import (
    SAME,
    day_rows,
    read_about,
    read_boxes,
    read_days,
    same_engine,
    write_about,
)
from simrun.trials.handbook.making import SEED_OF
from simrun.trials.handbook.races_of_days import SEEDS_A_DAY
from simrun.trials.handbook.space_filling import days
from simrun.trials.races import race_outcome

if TYPE_CHECKING:
    import pandas

LAST_DIGIT_S = 6e-4
"""Costs stand in the table with three decimals."""


def run_anew(row: pandas.Series) -> Any:
    """What the boxes of a fitted day cost, run by the engine of today: (marks x boxes,) as in the table."""
    day = days(int(row.day), SEED_OF["fit"])[-1]
    seeds = [SEEDS_A_DAY * int(row.day) + k for k in range(1, int(row.races) + 1)]
    rows = day_rows(
        int(row.day), [race_outcome(scenario_of(day), seed, from_best=True) for seed in seeds]
    )
    return np.array([one["cost_s"] for one in rows])


def differing(folder: Path, count: int) -> list[int]:
    """Which of so many days, from the smallest field to the largest, cost something else now?"""
    table, boxes = read_days(folder), read_boxes(folder)
    part = table[table.use == "fit"].copy()
    part["size"] = part.boxes * part.runners
    part = part.sort_values(["size", "day"])
    some = part.iloc[np.unique(np.linspace(0, len(part) - 1, count).round().astype(int))]
    wrong = []
    for _, row in some.iterrows():
        kept = boxes[boxes.day == row.day].cost_s.to_numpy()
        if not np.allclose(kept, run_anew(row), rtol=0.0, atol=LAST_DIGIT_S, equal_nan=True):
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
