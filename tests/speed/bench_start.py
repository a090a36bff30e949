"""How long until something happens? Run by hand: python tests/speed/bench_start.py

`simrun --help`, and `simrun race` once the engine is compiled: until its clock first ticks. Each is run
several times in a process of its own; the least is told, since whatever else the machine does only adds.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
TIMES = 7
HELP_TARGET_S, TICK_TARGET_S = 0.3, 2.0

TICK = """
import sys
from simrun.race import run

steps = run.run_steps
def first_tick(*given):
    steps(given[0], 1, *given[2:])
    sys.exit(0)
run.run_steps = first_tick
from simrun.cli import main
main(["race", "scenarios/ferry_meadow.toml", "--out", "outputs/unwritten"])
"""


def least_s(*words: str) -> float:
    """The least time of a Python process that is given these words."""
    took_s = []
    for _ in range(TIMES):
        begin = time.perf_counter()
        subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True)
        took_s.append(time.perf_counter() - begin)
    return min(took_s)


def main() -> None:
    """Both, each beside its target."""
    for name, words, target_s in (
        ("simrun --help", ("-m", "simrun", "--help"), HELP_TARGET_S),
        ("simrun race, to the first tick", ("-c", TICK), TICK_TARGET_S),
    ):
        took_s = least_s(*words)
        met = "met" if took_s < target_s else "MISSED"
        print(f"{name:32s} {took_s:5.2f} s, target {target_s} s: {met}")


if __name__ == "__main__":
    main()
