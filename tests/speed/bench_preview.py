"""What do the parts of a walk through the course cost: the sheet, who walks where, what a kick wins?

    python tests/speed/bench_preview.py [SCENARIO] [RACES]      brindle_fen and 10 unless told

Seconds of the processor, of all threads, each part once in one run and with nothing in its store.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import simrun
from simrun.answers.sheet.run import run_sheet
from simrun.answers.whole.preview.chapters import chapters_of
from simrun.answers.whole.preview.result import PreviewResult
from simrun.answers.whole.preview.run import run_preview
from simrun.answers.whole.preview.sides import sides_of
from simrun.answers.whole.preview.to_go import STORE, to_go_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def main() -> None:
    name, races = (sys.argv[1:] + ["brindle_fen", "10"][len(sys.argv) - 1 :])[:2]
    day, seeds = simrun.read(SCENARIOS / f"{name}.toml"), tuple(range(1, int(races) + 1))
    simrun.race(day, seed=1)  # what is compiled is compiled before
    with tempfile.TemporaryDirectory() as folder:
        sheet = said("the sheet", lambda: run_sheet(day, folder, None, seeds, workers=1))
        chapters = chapters_of(sheet, day.places)
        whose = (sheet.day, sheet.found.stand.team, seeds)
        store = Path(folder) / STORE
        said("who walks where", lambda: sides_of(*whose, store, chapters, workers=1))
        said("what a kick wins", lambda: to_go_of(*whose, Path(folder), chapters, workers=1))
        walk: PreviewResult = said(
            "put together", lambda: run_preview(day, folder, seeds=seeds, workers=1)
        )
        said("the page", lambda: walk.save(folder))


def said(part: str, job: Callable[[], Any]) -> Any:
    """Do it and tell what it took."""
    begun = time.process_time()
    found = job()
    print(f"{part:18} {time.process_time() - begun:6.1f} s")
    return found


if __name__ == "__main__":
    main()
