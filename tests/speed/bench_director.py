"""How long is a director's way from a blank file to a sheet for the crew? Run by hand.

    python tests/speed/bench_director.py

A day made of the entry list alone, inspected, and two other lines raced beside it 20 times each, as the
commands do it by themselves: `new`, `check`, `layout`. Seconds of the clock and of the processor; on a busy
machine those of the processor, over the cores, are the ones to read.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ENTRIES = ROOT / "scenarios" / "brindle_fen_entries.csv"
TARGET_S, CORES = 180.0, 2

STEPS = (
    ["new", "day.toml", "--entries", "entries.csv", "--team", "Ellerfold"],
    ["check", "day.toml", "--aim", "finish", "--out", "check"],
    ["layout", "day.toml", "--vary", "width=50,60", "--vary", "arc=arc", "--out", "lines"],
)


def main() -> None:
    """A row a command, and the whole."""
    whole = [0.0, 0.0]
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(ENTRIES, Path(folder) / "entries.csv")
        for step in STEPS:
            begin, before = time.perf_counter(), os.times()
            words = [sys.executable, "-m", "simrun", *step, "--quiet"]
            words += ["--workers", str(CORES)] if step[0] == "layout" else []
            env = os.environ | {"PYTHONPATH": str(ROOT)}
            subprocess.run(
                words,
                cwd=folder,
                check=True,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                env=env,
            )
            after = os.times()
            busy = after.children_user + after.children_system
            busy -= before.children_user + before.children_system
            clock = time.perf_counter() - begin
            whole = [whole[0] + clock, whole[1] + busy]
            print(f"{step[0]:8} {clock:6.1f} s of the clock, {busy:6.1f} s of the processor")
    print(f"{'whole':8} {whole[0]:6.1f} s of the clock, {whole[1]:6.1f} s of the processor", end="")
    print(f" ({whole[1] / CORES:.0f} s on {CORES} free cores; aim {TARGET_S:.0f} s)")


if __name__ == "__main__":
    main()
