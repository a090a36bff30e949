"""How long until something happens? Run by hand: python tests/speed/bench_start.py

`simrun --help`, `simrun check` of every shipped scenario, and `simrun race` once the engine is compiled:
until its clock first ticks. Each is run several times in a process of its own; the least is told, since
whatever else the machine does only adds. Seconds of the processor stand beside those of the clock: on a busy
machine they are the ones to read.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
TIMES = 7
HELP_TARGET_S, TICK_TARGET_S = 0.3, 2.0
CHECK_TARGET_S = 0.4
"""Of the processor."""

TICK = """
import sys
from simrun.engine import run

steps = run.run_steps
def first_tick(*given):
    steps(given[0], 1, *given[2:])
    sys.exit(0)
run.run_steps = first_tick
from simrun.cli import main
main(["race", "scenarios/ferry_meadow.toml", "--out", "outputs/unwritten"])
"""


def least_s(*words: str) -> tuple[float, float]:
    """The least seconds, of the clock and of the processor, of a Python process given these words."""
    clock_s, processor_s = [], []
    for _ in range(TIMES):
        begin, before = time.perf_counter(), os.times()
        subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True)
        after = os.times()
        clock_s.append(time.perf_counter() - begin)
        used = (after.children_user - before.children_user, after.children_system)
        processor_s.append(used[0] + used[1] - before.children_system)
    return min(clock_s), min(processor_s)


def main() -> None:
    """Each beside its target."""
    for file in sorted((ROOT / "scenarios").glob("*.toml")):
        _, processor_s = least_s("-m", "simrun", "check", str(file))
        met = "met" if processor_s < CHECK_TARGET_S else "MISSED"
        said = f"of the processor {processor_s:5.2f} s, target {CHECK_TARGET_S} s: {met}"
        print(f"{'simrun check ' + file.stem:32s} {said}")
    for name, words, target_s in (
        ("simrun --help", ("-m", "simrun", "--help"), HELP_TARGET_S),
        ("simrun race, to the first tick", ("-c", TICK), TICK_TARGET_S),
    ):
        clock_s, processor_s = least_s(*words)
        met = "met" if clock_s < target_s else "MISSED"
        said = (
            f"{clock_s:5.2f} s, of the processor {processor_s:5.2f} s, target {target_s} s: {met}"
        )
        print(f"{name:32s} {said}")


if __name__ == "__main__":
    main()
