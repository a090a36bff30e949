"""How long from a watch's track and two lists to the sheet for the clipboard? 90 s on two cores is the aim.

    python -m tests.speed.bench_journey

Every command is a process of its own, as a coach types it, with its defaults; the engine is compiled
beforehand. Seconds of the clock, and of the processor beside them: on a busy machine those are the ones to
read.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.helpers.watch_tracks import walk_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TARGET_S, WALK = 90.0, 621


def commands(track: Path, line_m: float) -> list[tuple[str, ...]]:
    """From the track to the sheet."""
    out = track.parent / "out"
    lists = (
        *("--entries", str(SCENARIOS / "brindle_fen_entries.csv")),
        *("--box-sheet", str(SCENARIOS / "brindle_fen_boxes.csv"), "--team", "Ellerfold"),
    )
    day = str(out / "day.toml")
    return [
        ("course", str(track), *lists, "--start-width", f"{line_m:.0f} m", "--out", str(out)),
        ("check", day),
        ("sheet", day, "--out", str(out / "sheet")),
    ]


def run(*words: str) -> None:
    """One command, in a process of its own."""
    command = [sys.executable, "-m", "simrun", *words, "--quiet"]
    subprocess.run(command, check=True, capture_output=True)


def main() -> None:
    """A line a command, and the sum beside the aim."""
    walk, whole_s = walk_of(WALK), 0.0
    with tempfile.TemporaryDirectory() as folder:
        run("race", str(SCENARIOS / "dual_meet.toml"), "--no-gif", "--out", folder)
        track = Path(folder) / "day.gpx"
        track.write_text(walk.gpx, encoding="utf-8")
        for words in commands(track, walk.line_m):
            begin, before = time.perf_counter(), os.times()
            run(*words)
            after, took_s = os.times(), time.perf_counter() - begin
            whole_s += took_s
            used_s = after.children_user - before.children_user
            print(f"{words[0]:8} {took_s:6.1f} s, of the processor {used_s:6.1f} s")
    met = "met" if whole_s < TARGET_S else "MISSED"
    print(f"all      {whole_s:6.1f} s on {os.cpu_count()} cores, aim {TARGET_S:.0f} s: {met}")


if __name__ == "__main__":
    main()
