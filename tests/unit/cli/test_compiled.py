"""The compiled cache: used again, and never stale."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import simrun
from simrun.base import compiled
from simrun.cli.door import FIRST_USE

TOP = Path(__file__).parents[3]

ORDER = ["-m", "simrun", "race", "scenarios/dual_meet.toml", "--no-gif", "--out", "out"]


def answer(folder: Path) -> tuple[bool, float]:
    """Was a first use told, and what came out? By the command, as people run it."""
    environment = {**os.environ, "PYTHONPATH": str(folder), "XDG_CACHE_HOME": str(folder / "kept")}
    done = subprocess.run(
        [sys.executable, *ORDER],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    total = float(simrun.load(folder / "out" / "recording.npz").crossing_s.sum())
    return done.stderr.count(FIRST_USE) == 1, total


@pytest.mark.slow
@pytest.mark.skipif(
    bool(os.environ.get("NUMBA_DISABLE_JIT")), reason="nothing is compiled in this run"
)
def test_an_edited_law_never_meets_a_stale_cache(tmp_path: Path) -> None:
    """First use compiles and says so, the second does not, nor does one after every file was written anew
    with the same text; an edit in another file than the kernel's compiles anew and changes the answer;
    put back, the first answer is there again at once."""
    for name in ("simrun", "shared", "scenarios"):
        shutil.copytree(TOP / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    told, first = answer(tmp_path)
    assert told
    for path in (tmp_path / "simrun").rglob("*.py"):
        os.utime(path)
    assert answer(tmp_path) == (False, first)
    law = tmp_path / "simrun" / "laws" / "follow.py"
    text = law.read_text("utf-8")
    edited = text.replace("following_time_s * speed", "1.5 * following_time_s * speed")
    assert edited != text
    law.write_text(edited, encoding="utf-8")
    told, other = answer(tmp_path)
    assert told
    assert other != first
    law.write_text(text, encoding="utf-8")
    assert answer(tmp_path) == (False, first)


def test_every_compiled_module_counts_in_the_digest(tmp_path: Path) -> None:
    """Another text, another name; and all rooms that compile are looked at."""
    file = tmp_path / "a.py"
    file.write_text("one")
    before = compiled.digest_of([file])
    file.write_text("two")
    assert compiled.digest_of([file]) != before
    rooms = {path.parent.name for path in compiled.kernel_sources()}
    assert {"laws", "tactics", "kernel", "course"} <= rooms
