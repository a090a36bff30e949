"""How many whole outcomes a second, set-up, alone-times and writing down counted in? By hand, with a card.

    python -m tests.agreement.whole_outcomes [RACES] [SCENARIO ...]

RACES seeds of every scenario as a study runs them, and as many races of the handbook's days. The farm race
also ends at 1 km. What is compiled is compiled before.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from simrun.engine.batch.together import GPU
from simrun.scenario.changes.changes_course import ending_by
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out
from simrun.trials.handbook.making import make
from simrun.trials.plan import Plan
from simrun.trials.workers import cores
from tests.agreement.on_a_card import ROOT, SCENARIOS

FARM, KM = "ferry_meadow", 1000.0


def arms_of(names: Sequence[str]) -> dict[str, Scenario]:
    """The days that are timed."""
    arms = {name: read(ROOT / "scenarios" / f"{name}.toml") for name in names}
    if FARM in arms:
        arms[f"{FARM}, 1 km"] = ending_by(arms[FARM], KM)
    return arms


def main(words: Sequence[str]) -> None:
    """Read the words above."""
    races = int(words[0]) if words else 4000
    folder = Path(tempfile.mkdtemp())
    for name, day in arms_of(words[1:] or SCENARIOS).items():
        carry_out(Plan({name: day}, (1, 2)), folder / f"{name}.two", engine=GPU)
        began = time.perf_counter()
        carry_out(Plan({name: day}, tuple(range(1, races + 1))), folder / name, engine=GPU)
        took = time.perf_counter() - began
        print(f"| {name} | {day.runners} | {races / took:.0f} | {cores()} cores |", flush=True)
    began = time.perf_counter()
    make("fit", races // 8, 8, folder / "handbook", engine=GPU)
    print(f"| handbook | | {races / (time.perf_counter() - began):.0f} |", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
