"""Ctrl-C, SIGTERM and SIGHUP at random moments of long commands: one line, nothing lies about, it goes on.

    python -m tests.journeys.test_stops 100 > tests/journeys/stops.csv

stops every command so often, and then compares what it ends with to what it says when nobody stops it.
"""

from __future__ import annotations

import csv
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from simrun.state.recording_file import load
from simrun.trials.store import Store
from tests.helpers.processes import hear_ctrl_c

TOP = Path(__file__).parents[2]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")
STOPS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)

COMMANDS = {
    "race": ["race", DUAL, "--page", "--to", "20"],
    "boxes": ["boxes", DUAL, "--seeds", "12", "--workers", "2"],
    "tactic": ["tactic", DUAL, "--seeds", "2", "--fresh", "5", "--workers", "2"],
    "layout": ["layout", DUAL, "--vary", "straight=60:90:30", "--seeds", "4", "--until", "140"],
    "disturb": ["disturb", DUAL, "--at", "140 yd", "--lasts", "5", "--seeds", "2"],
}
"""Long commands, as short as they can be."""


@dataclass
class Tally:
    """What became of one command that was stopped so often."""

    stopped: int = 0
    ended: int = 0
    wrong: list[str] = field(default_factory=list)


def begun(words: list[str], folder: Path) -> subprocess.Popen[str]:
    """The command in a process group of its own, its temporary files beside its results."""
    (folder / "temporary").mkdir(parents=True, exist_ok=True)
    return subprocess.Popen(
        [sys.executable, "-m", "simrun", *words, "--out", str(folder / "out")],
        cwd=TOP,
        env={**os.environ, "TMPDIR": str(folder / "temporary")},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        preexec_fn=hear_ctrl_c,
    )


def lies_about(folder: Path) -> list[str]:
    """What no command may leave: hidden folders, beginnings of files, anything temporary."""
    return [
        *os.listdir(folder / "temporary"),
        *(path.name for path in (folder / "out").rglob(".*")),
    ]


def lives_on(group: int) -> bool:
    """Is anybody of the command's process group still there, a second later?"""
    for _ in range(40):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return False
        time.sleep(0.05)
    return True


def stop_once(words: list[str], folder: Path, after_s: float, signum: int, tally: Tally) -> None:
    """Stop the command after a while, as a terminal does (all its processes) or as the system does."""
    run = begun(words, folder)
    time.sleep(after_s)
    whole_group = signum != signal.SIGTERM
    with suppress(ProcessLookupError):
        (os.killpg if whole_group else os.kill)(run.pid, signum)
    told = run.communicate(timeout=60)[1]
    lines = [line for line in told.splitlines() if line.startswith("simrun: ")]
    what = f"{signal.Signals(signum).name} after {after_s:.2f} s"
    if run.returncode == 0:
        tally.ended += 1
    elif run.returncode == -signum and not told:
        tally.stopped += 1  # before Python had opened the door
    elif run.returncode == 128 + signum and lines == ["simrun: stopped; no file is half-written"]:
        tally.stopped += 1
    else:
        tally.wrong.append(f"{what}: code {run.returncode}: {told[-300:]!r}")
    if "Traceback" in told or "Exception ignored" in told:
        tally.wrong.append(f"{what}: {told[-300:]!r}")
    if left := lies_about(folder):
        tally.wrong.append(f"{what}: left {left}")
    if lives_on(run.pid):
        tally.wrong.append(f"{what}: somebody lives on")


def content(folder: Path) -> dict[str, object]:
    """What a command left, file by file: stores by what they hold, recordings by their crossings."""
    found: dict[str, object] = {}
    for path in sorted((folder / "out").iterdir()):
        if path.suffix == ".db":
            with Store(path) as store:
                found[path.name] = store.content_digest()
        elif path.suffix == ".npz":
            found[path.name] = load(path).crossing_s.tobytes()
        else:
            found[path.name] = path.read_bytes()
    return found


def end_to_end(words: list[str], folder: Path) -> tuple[dict[str, object], float]:
    """The command, not stopped: what it left, and how long it took."""
    at = time.monotonic()
    run = begun(words, folder)
    told = run.communicate(timeout=300)[1]
    assert run.returncode == 0, told
    return content(folder), time.monotonic() - at


def stopped_often(name: str, times: int, folder: Path) -> Tally:
    """Stop a command at so many random moments of its length, then let it end and compare."""
    words, chance, tally = COMMANDS[name], random.Random(name), Tally()
    whole, lasts_s = end_to_end(words, folder / "whole")
    for number in range(times):
        # Often anew, else all but the first would only meet the last files being written.
        place = folder / f"{number // 3}"
        stop_once(words, place, chance.uniform(0.0, lasts_s), STOPS[number % len(STOPS)], tally)
    for number in range(0, times, max(1, times // 3)):
        if end_to_end(words, folder / f"{number // 3}")[0] != whole:
            tally.wrong.append(f"folder {number // 3}: other bytes")
    return tally


@pytest.mark.slow
@pytest.mark.parametrize("name", ["race", "boxes"])
def test_stopped_at_random_moments(name: str, tmp_path: Path) -> None:
    """A slice of what the command by hand does."""
    tally = stopped_often(name, 4, tmp_path)
    assert tally.wrong == []
    assert tally.stopped + tally.ended == 4


def main() -> None:
    """Every command, stopped so often; a line each."""
    table = csv.writer(sys.stdout, lineterminator="\n")
    table.writerow(["command", "stops", "stopped", "had ended", "wrong"])
    for name in sys.argv[2:] or COMMANDS:
        with TemporaryDirectory() as folder:
            tally = stopped_often(name, int(sys.argv[1]), Path(folder))
        table.writerow([name, sys.argv[1], tally.stopped, tally.ended, len(tally.wrong)])
        sys.stdout.flush()
        for line, count in Counter(tally.wrong).items():
            print(f"{count} x {line}", file=sys.stderr)


if __name__ == "__main__":
    main()
