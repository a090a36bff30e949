"""Compiled code that came with the package: used where it fits, and else nothing is said or done with it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from simrun.base.code import made_ahead
from tests.unit.base.test_kept_code import TOP, used

pytestmark = pytest.mark.skipif(
    bool(os.environ.get("NUMBA_DISABLE_JIT")) or not made_ahead.runs_baseline(),
    reason="nothing is compiled in this run, or not for this kind of processor",
)
DIGEST = "0123456789abcdef"
KEEP = """
import sys
from pathlib import Path
from tests.unit.base.test_kept_code import used
assert used(Path(sys.argv[1])) == (False, 3.0, [])
"""
RACE = """
import hashlib, simrun
day = simrun.read("scenarios/dual_meet.toml").changed({"field.racing": "on"})
recording = simrun.race(day, seed=1)
print(hashlib.sha256(recording.position_m.tobytes() + recording.crossing_s.tobytes()).hexdigest())
"""


def for_the_baseline(*words: str, **environment: str) -> str:
    """What a process says that compiles for the baseline alone."""
    chosen = {"NUMBA_CPU_NAME": made_ahead.BASELINE, "NUMBA_CPU_FEATURES": ""}
    return in_a_process(*words, **chosen, **environment)


def in_a_process(*words: str, **environment: str) -> str:
    told = {**os.environ, "PYTHONPATH": str(TOP), **environment}
    words = (sys.executable, "-c", *words)
    return subprocess.run(
        words, cwd=TOP, env=told, stdout=subprocess.PIPE, text=True, check=True
    ).stdout


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A law compiled ahead."""
    folder = tmp_path_factory.mktemp("package") / DIGEST
    for_the_baseline(KEEP, str(folder))
    return folder


@pytest.fixture
def ahead(made: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(made_ahead, "AHEAD", made.parent)
    return made


def files_in(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def test_nothing_is_compiled_and_nothing_kept_where_it_fits(ahead: Path, tmp_path: Path) -> None:
    assert used(tmp_path / DIGEST) == (True, 3.0, [])
    assert files_in(tmp_path) == []


def test_of_other_sources_it_is_not_used(ahead: Path, tmp_path: Path) -> None:
    """The folder's name is a digest of every source, of the compiler and of its assembler."""
    other = tmp_path / DIGEST[::-1]
    assert used(other) == (False, 3.0, [])
    assert files_in(other)


def test_a_processor_that_lacks_something_compiles(
    ahead: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As one of 2007 does."""
    has = made_ahead.llvmlite.binding.get_host_cpu_features()
    old = {**has, "sse4.2": False}
    monkeypatch.setattr(made_ahead.llvmlite.binding, "get_host_cpu_features", lambda: old)
    assert used(tmp_path / DIGEST) == (False, 3.0, [])


@pytest.mark.parametrize("ending", ["nbi", "nbc"])
def test_a_damaged_file_costs_one_line_and_stays_where_it_is(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    """What is installed is the installer's; the next time our own copy is there."""
    package = tmp_path / "package"
    for file in files_in(made):
        place = package / file.relative_to(made.parent)
        place.parent.mkdir(parents=True, exist_ok=True)
        data = file.read_bytes()
        place.write_bytes(data[:-9] + b"x" + data[-8:] if file.suffix == f".{ending}" else data)
    monkeypatch.setattr(made_ahead, "AHEAD", package)
    found, answer, told = used(tmp_path / DIGEST)
    assert (found, answer, len(told)) == (False, 3.0, 1)
    assert "damaged" in told[0]
    assert len(files_in(package)) == len(files_in(made))
    assert used(tmp_path / DIGEST)[:2] == (True, 3.0)


@pytest.mark.slow
def test_a_race_has_the_same_bits_on_the_baseline(tmp_path: Path) -> None:
    """A whole race, everybody racing for places: the baseline can neither join a product and a sum nor add
    eight numbers at once, and this machine may."""
    kept = str(tmp_path)
    assert for_the_baseline(RACE, XDG_CACHE_HOME=kept) == in_a_process(RACE, XDG_CACHE_HOME=kept)
