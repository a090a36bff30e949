"""Stopped at any moment, two at once, strange locales, odd names, a full disk: nothing is half-written."""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import imageio.v3 as imageio
import pandas as pd
import pytest

from simrun.answers.race.race_tables import race_tables, write_tables
from simrun.state.recording_file import load
from tests.helpers.engine import prepare_engine
from tests.helpers.processes import hear_ctrl_c

TOP = Path(__file__).parents[2]
DUAL = TOP / "scenarios" / "dual_meet.toml"
STOPS = int(os.environ.get("STOPS", "5"))


def started(
    folder: Path, file: Path = DUAL, seed: int = 1, **environment: str
) -> subprocess.Popen[str]:
    """`simrun race` in a process of its own, writing to this folder."""
    words = [sys.executable, "-m", "simrun", "race", str(file), "--out", str(folder), "--to", "20"]
    words += ["--seed", str(seed)]
    return subprocess.Popen(
        words,
        cwd=TOP,
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        preexec_fn=hear_ctrl_c,
    )


def check_whole(folder: Path) -> set[str]:
    """Every file that is there can be read to its end, and nothing else lies about."""
    names = {path.name for path in folder.iterdir()} if folder.exists() else set()
    assert not [name for name in names if name.startswith(".")], names
    for name in names:
        if name.endswith(".csv"):
            assert len(pd.read_csv(folder / name)) > 0
        elif name.endswith(".npz"):
            load(folder / name)
        elif name.endswith(".gif"):
            assert len(imageio.imread(folder / name, index=None)) > 10
    return names


@pytest.mark.slow
def test_stopped_at_any_moment_nothing_is_half_written(tmp_path: Path) -> None:
    """Ctrl-C after a random time, again and again into the same folder; what was there stays whole."""
    moments = random.Random(STOPS)
    ends = []
    for _ in range(STOPS):
        run = started(tmp_path / "out")
        time.sleep(moments.uniform(0.0, 4.0))
        run.send_signal(signal.SIGINT)
        told = run.communicate(timeout=60)
        ends.append(run.returncode)
        # A signal before the door is open is Python's own to tell; after it, one line.
        if run.returncode == 130:
            assert "Traceback" not in told[1]
        check_whole(tmp_path / "out")
    assert set(ends) <= {0, 130, 1, -signal.SIGINT}


@pytest.mark.slow
def test_two_at_once_into_one_folder(tmp_path: Path) -> None:
    """Both end well, and all files are whole and those of one of them, whichever."""
    runs = [started(tmp_path / "out", seed=seed) for seed in (1, 2)]
    for run in runs:
        run.communicate(timeout=120)
    assert [run.returncode for run in runs] == [0, 0]
    assert {"loss.csv", "recording.npz", "race.gif"} <= check_whole(tmp_path / "out")
    recording = load(tmp_path / "out" / "recording.npz")
    found = pd.read_csv(tmp_path / "out" / "loss.csv")
    write_tables(race_tables(recording), tmp_path / "again")
    pd.testing.assert_frame_equal(found, pd.read_csv(tmp_path / "again" / "loss.csv"))


@pytest.mark.slow
def test_the_clock_may_be_changed_during_a_race(tmp_path: Path) -> None:
    """A day ahead and a year back at every look at the machine's clock: the same recording, byte for byte."""
    files = []
    for shift in ("0", "86400 * next(count)", "-31536000 * next(count)"):
        words = (
            "import itertools, sys, time; count = itertools.count(); real = time.time\n"
            f"time.time = lambda: real() + {shift}\n"
            "from simrun.cli import main; sys.exit(main(sys.argv[1:]))"
        )
        out = tmp_path / str(len(files))
        race = ["race", str(DUAL), "--no-gif", "--out", str(out)]
        subprocess.run([sys.executable, "-c", words, *race], cwd=TOP, check=True, timeout=120)
        files.append((out / "recording.npz").read_bytes())
        check_whole(out)
    assert files[0] == files[1] == files[2]


@pytest.mark.parametrize("locale", ["C", "tr_TR.UTF-8"])
@pytest.mark.slow
def test_odd_names_and_locales(tmp_path: Path, locale: str) -> None:
    """A folder with spaces, a file with accents; a locale without UTF-8, one with a dotless i."""
    folder = tmp_path / "Läufe am Fluß"
    folder.mkdir()
    file = folder / "été & co.toml"
    shutil.copy(DUAL, file)
    run = started(folder / "out", file, LC_ALL=locale, LANG=locale)
    told = run.communicate(timeout=120)
    assert run.returncode == 0, told[1]
    assert "recording.npz" in check_whole(folder / "out")


def test_a_full_disk_is_one_line(tmp_path: Path) -> None:
    """No file may grow beyond 4 kB: one line, exit code 2, nothing half-written."""

    def small() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)

    prepare_engine()  # or the file that cannot be written is one of the engine's
    words = [sys.executable, "-m", "simrun", "race", str(DUAL), "--out", str(tmp_path / "out")]
    done = subprocess.run(
        words, cwd=TOP, capture_output=True, text=True, preexec_fn=small, timeout=120
    )
    assert done.returncode == 2
    # On a busy machine a line of progress may come before.
    told = [line for line in done.stderr.splitlines() if "% done" not in line]
    assert len(told) == 1
    assert "cannot be written" in done.stderr
    assert not [name for name in check_whole(tmp_path / "out") if name.endswith((".npz", ".gif"))]
