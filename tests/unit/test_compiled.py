"""The compiled cache: used again, and never stale."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from simrun.base import compiled

TOP = Path(__file__).parents[2]

RUN = """
import simrun
from simrun.base.compiled import is_cold
cold = is_cold()
recording = simrun.race(simrun.read("scenarios/dual_meet.toml"))
print(cold, repr(float(recording.crossing_s.sum())))
"""


def answer(folder: Path) -> tuple[str, str]:
    environment = {**os.environ, "PYTHONPATH": str(folder), "XDG_CACHE_HOME": str(folder / "kept")}
    done = subprocess.run(
        [sys.executable, "-c", RUN],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    cold, total = done.stdout.split()
    return cold, total


@pytest.mark.skipif(
    bool(os.environ.get("NUMBA_DISABLE_JIT")), reason="nothing is compiled in this run"
)
def test_an_edited_law_never_meets_a_stale_cache(tmp_path: Path) -> None:
    """First use compiles, the second does not, an edit in another file than the kernel's compiles anew
    and changes the answer; put back, the first answer is there again."""
    for name in ("simrun", "shared", "scenarios"):
        shutil.copytree(TOP / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    cold, first = answer(tmp_path)
    assert cold == "True"
    assert answer(tmp_path) == ("False", first)
    law = tmp_path / "simrun" / "laws" / "follow.py"
    text = law.read_text("utf-8")
    edited = text.replace("following_time_s * speed", "1.5 * following_time_s * speed")
    assert edited != text
    law.write_text(edited, encoding="utf-8")
    cold, other = answer(tmp_path)
    assert cold == "True"
    assert other != first
    law.write_text(text, encoding="utf-8")
    assert answer(tmp_path)[1] == first


def test_every_compiled_module_counts_in_the_digest(tmp_path: Path) -> None:
    """Another text, another name; and all rooms that compile are looked at."""
    file = tmp_path / "a.py"
    file.write_text("one")
    before = compiled.digest_of([file])
    file.write_text("two")
    assert compiled.digest_of([file]) != before
    rooms = {path.parent.name for path in compiled.kernel_sources()}
    assert {"laws", "tactics", "race", "course"} <= rooms
