"""How long does learning from 150 split times take? Run by hand.

    python tests/speed/bench_learn.py

Last year's results of the farm race, 50 finishers with splits at three marks as one of its own races gave
them, are written to a file and fed to `simrun learn`, as the command does it by itself: races, learning, what
to measure next, pages. Seconds of the clock and of the processor; on a busy machine those of the processor,
over the cores, are the ones to read.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from simrun.scenario.reader import read
from simrun.trials.learning.seen_races import watched_day
from simrun.trials.races import marks_outcome

ROOT = Path(__file__).parents[2]
DAY = ROOT / "scenarios" / "ferry_meadow.toml"
MARKS = ("throat", "barn exit", "1 km")
FINISHERS, SEED = 50, 2001
TARGET_S, CORES = 300.0, 2


def results_of() -> str:
    """The first 50 over the last mark with their splits, as a list in tenths of a second."""
    watched = watched_day(read(DAY), 1000.0)
    crossed = marks_outcome(watched.day, SEED).crossing_s
    rows = [",".join(["place", "time", *MARKS])]
    for place, i in enumerate(np.argsort(crossed[:, -1])[:FINISHERS], start=1):
        splits = [_clock(crossed[i, watched.mark(mark)]) for mark in MARKS]
        rows.append(",".join([str(place), _clock(2.4 * crossed[i, -1]), *splits]))
    return "\n".join(rows) + "\n"


def _clock(seconds: float) -> str:
    return f"{int(seconds // 60)}:{seconds % 60:04.1f}"


def main() -> None:
    """One row."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "results.csv").write_text(results_of(), "utf-8")
        words = [sys.executable, "-m", "simrun", "learn", str(DAY), "--results", "results.csv"]
        words += ["--workers", str(CORES), "--out", "learnt", "--quiet"]
        env = os.environ | {"PYTHONPATH": str(ROOT)}
        begin, before = time.perf_counter(), os.times()
        subprocess.run(words, cwd=folder, check=True, stdin=subprocess.DEVNULL, env=env)
        clock, after = time.perf_counter() - begin, os.times()
    busy = after.children_user + after.children_system
    busy -= before.children_user + before.children_system
    load = os.getloadavg()[0]
    print(
        f"learn {clock:6.1f} s of the clock, {busy:6.1f} s of the processor, load {load:.1f}",
        end="",
    )
    print(f" ({busy / CORES:.0f} s on {CORES} free cores; aim {TARGET_S:.0f} s)")


if __name__ == "__main__":
    main()
