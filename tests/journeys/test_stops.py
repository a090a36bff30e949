"""Ctrl-C, SIGTERM and SIGHUP at random moments of long commands: one line, nothing lies about, it goes on.

    python -m tests.journeys.test_stops 100

stops every command so often, three times in one folder, and then compares what it ends with to what it says
when nobody stops it. `stops.csv` beside this file has a row for every such folder. Stopped itself, it goes on
with the next row; names behind the number take those commands alone.
"""

from __future__ import annotations

import csv
import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from shutil import rmtree
from tempfile import TemporaryDirectory

import pytest

from simrun import race, read, save
from simrun.state.recording_file import load
from simrun.trials.store import Store
from tests.helpers.processes import hear_ctrl_c

TOP = Path(__file__).parents[2]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")
RECORDED = "recording.npz"
STOPS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)

COMMANDS = {
    "race": ["race", DUAL, "--page", "--to", "20"],
    "boxes": ["boxes", DUAL, "--seeds", "12", "--workers", "2"],
    "tactic": ["tactic", DUAL, "--seeds", "2", "--fresh", "5", "--workers", "2"],
    "layout": ["layout", DUAL, "--vary", "straight=60:90:30", "--seeds", "4", "--until", "140"],
    "disturb": ["disturb", DUAL, "--at", "140 yd", "--lasts", "5", "--seeds", "2"],
    "brief": ["brief", DUAL, "--minutes", "0.1"],
    "side": ["side", DUAL, "--seeds", "2"],
    "sheet": ["sheet", DUAL, "--seeds", "2"],
    "preview": ["preview", DUAL, "--seeds", "2"],
    "card": ["card", DUAL, "--seeds", "1"],
    "chase": ["chase", DUAL, "--seeds", "2", "--lost", "8"],
    "finish": ["finish", DUAL, "--seeds", "2"],
    "sure": ["sure", DUAL, "--seeds", "2", "--rows", "2", "--until", "140"],
    "replay": ["replay", RECORDED, "--length", "6", "--page"],
    "evidence": ["evidence", "--quick"],
    "learn": ["learn", DUAL, "--races", "200", "--until", "140"],
}
"""Long commands, all that race or draw, as short as they can be."""

TABLE = Path(__file__).with_name("stops.csv")
HEAD = ["command", "folder", "stops", "stopped", "had ended", "wrong", "what"]
IN_A_FOLDER = len(STOPS)
"""Begun anew after so many, else all but the first would only meet the last files being written."""


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
    for path in sorted(file for file in (folder / "out").rglob("*") if file.is_file()):
        name = path.relative_to(folder).as_posix()
        if path.suffix == ".db":
            with Store(path) as store:
                found[name] = store.content_digest()
        elif path.suffix == ".npz":
            found[name] = load(path).crossing_s.tobytes()
        else:
            found[name] = sha256(path.read_bytes()).hexdigest()
    return found


def end_to_end(words: list[str], folder: Path) -> tuple[dict[str, object], float]:
    """The command, not stopped: what it left, and how long it took."""
    at = time.monotonic()
    run = begun(words, folder)
    told = run.communicate(timeout=600)[1]
    assert run.returncode == 0, told
    return content(folder), time.monotonic() - at


class Stopper:
    """One command, and what it does when nobody stops it."""

    def __init__(self, name: str, folder: Path) -> None:
        self.name, self.folder, self.words = name, folder, COMMANDS[name]
        if RECORDED in self.words:
            self.words = [str(recorded(folder)) if w == RECORDED else w for w in self.words]
        self.whole, self.lasts_s = end_to_end(self.words, folder / "whole")

    def stopped(self, number: int, times: int = IN_A_FOLDER) -> Tally:
        """Stop it so often at random moments in folder `number`, then let it end and compare."""
        chance, tally = random.Random(f"{self.name} {number}"), Tally()
        place = self.folder / f"{number}"
        for signum in STOPS[:times]:
            stop_once(self.words, place, chance.uniform(0.0, self.lasts_s), signum, tally)
        ended, _ = end_to_end(self.words, place)
        other = sorted(
            n for n in ended.keys() | self.whole.keys() if ended.get(n) != self.whole.get(n)
        )
        if other:
            tally.wrong.append(f"other bytes: {', '.join(other)}")
        rmtree(place)
        return tally


def recorded(folder: Path) -> Path:
    """A race to be shown."""
    return save(race(read(DUAL), 1), folder / RECORDED)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["race", "boxes"])
def test_stopped_at_random_moments(name: str, tmp_path: Path) -> None:
    """A slice of what the command by hand does."""
    stopper = Stopper(name, tmp_path)
    for number in (0, 1):
        tally = stopper.stopped(number, 2)
        assert tally.wrong == []
        assert tally.stopped + tally.ended == 2


def test_the_table_holds_every_long_command_and_nothing_wrong() -> None:
    """What was counted by hand: each kind of answer that takes a while, and no stop that went wrong."""
    rows = list(csv.DictReader(TABLE.open(encoding="utf-8")))
    assert {row["command"] for row in rows} == set(COMMANDS)
    assert [row for row in rows if row["wrong"] != "0"] == []


def main() -> None:
    """Every command in turns, a row a folder, until each was stopped so often."""
    times, names = int(sys.argv[1]), sys.argv[2:] or list(COMMANDS)
    with TemporaryDirectory() as folder:
        stoppers: dict[str, Stopper] = {}
        for number in range(-(-times // IN_A_FOLDER)):
            for name in names:
                if (name, str(number)) in counted():
                    continue
                if name not in stoppers:
                    (Path(folder) / name).mkdir()
                    stoppers[name] = Stopper(name, Path(folder) / name)
                noted(name, number, stoppers[name].stopped(number))


def counted() -> set[tuple[str, str]]:
    """Which folders of which command stand in the table?"""
    if not TABLE.exists():
        return set()
    with TABLE.open(encoding="utf-8") as text:
        return {(row["command"], row["folder"]) for row in csv.DictReader(text)}


def noted(name: str, number: int, tally: Tally) -> None:
    """A row more."""
    is_new = not TABLE.exists()
    with TABLE.open("a", encoding="utf-8", newline="") as text:
        table = csv.writer(text, lineterminator="\n")
        if is_new:
            table.writerow(HEAD)
        said = [name, number, IN_A_FOLDER, tally.stopped, tally.ended, len(tally.wrong)]
        table.writerow([*said, " | ".join(tally.wrong)])


if __name__ == "__main__":
    main()
