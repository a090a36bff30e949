"""Where is compiled code kept, for how long, and who may put it there?"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import shutil
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import simrun
from simrun.base import compiled
from simrun.base.code import compiling

TOP = Path(__file__).parents[3]

pytestmark = pytest.mark.skipif(
    bool(os.environ.get("NUMBA_DISABLE_JIT")), reason="nothing is compiled in this run"
)

COMPILE_ONE_LAW = """
import json, numba
numba.config.CACHE_DIR = "elsewhere"
from simrun.base import compiled
from simrun.base.code import compiling
from simrun.laws.bend import bend_speed_m_s
with compiling.watched(lambda: print("no kernel")) as watch:
    bend_speed_m_s(5.0, 10.0, 3.5, 0.375, 9.81)
print(json.dumps([str(compiled.cache_folder()), watch.seconds > 0, numba.config.CACHE_DIR]))
"""


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of the package and what it reads, in a folder of its own."""
    for name in ("simrun", "shared"):
        shutil.copytree(TOP / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path


def compile_one_law(copy: Path, **environment: str) -> tuple[Path, bool, str]:
    """Where did it go, was it compiled just now, and what is numba's own setting afterwards?"""
    places = {"PYTHONPATH": str(copy), "XDG_CACHE_HOME": str(copy / "kept"), "TMPDIR": str(copy)}
    done = subprocess.run(
        [sys.executable, "-c", COMPILE_ONE_LAW],
        cwd=copy,
        env={**os.environ, **places, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    folder, fresh, setting = json.loads(done.stdout)
    return Path(folder), fresh, setting


def kept_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*.nb?"))


def test_kept_in_our_folder_and_nowhere_else(copy: Path) -> None:
    folder, fresh, setting = compile_one_law(copy)
    assert fresh
    assert folder.parent == copy / "kept" / "simrun"
    assert [name for name in kept_in(folder) if "bend_speed_m_s" in name]
    assert kept_in(copy) == kept_in(folder)
    assert setting == "elsewhere", "numba's setting is everybody's"


@pytest.mark.slow
def test_another_folder_where_the_first_cannot_be_written(copy: Path) -> None:
    """A file stands where the user's cache should be; then where the temporary one should be, too."""
    (copy / "kept").write_text("in the way")
    folder, _, _ = compile_one_law(copy)
    assert folder.parent.parent == copy
    assert folder.parent.name.startswith("simrun-")
    assert kept_in(folder)
    shutil.rmtree(folder.parent)
    folder.parent.write_text("in the way")
    last, _, _ = compile_one_law(copy)
    assert last.parent == copy
    assert not last.exists(), "a folder for one process goes with it"


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="about the rights on a Unix machine")
@pytest.mark.slow
def test_a_folder_that_others_may_write_to_is_left_alone(copy: Path) -> None:
    """What is kept is loaded as code: it must be ours."""
    folder, _, _ = compile_one_law(copy)
    folder.chmod(0o777)
    other, _, _ = compile_one_law(copy)
    assert other.parent.parent == copy
    shutil.rmtree(folder)
    folder.symlink_to(copy / "simrun")
    assert compile_one_law(copy)[0] == other


def test_old_folders_go_and_the_newest_stay(tmp_path: Path) -> None:
    now = time.time()
    ages_h = {f"{n:016x}": 25.0 + n for n in range(8)} | {f"{n:016x}": 1.0 for n in range(10, 13)}
    for name, age_h in {**ages_h, "notes": 999.0}.items():
        (tmp_path / name / "inside").mkdir(parents=True)
        os.utime(tmp_path / name, (now - 3600 * age_h,) * 2)
    compiled._remove_old(tmp_path)
    left = {path.name for path in tmp_path.iterdir()}
    youngest = sorted(ages_h, key=ages_h.__getitem__)[: compiled.KEPT_FOLDERS]
    assert left == {*youngest, "notes"}


def test_folders_in_use_stay_however_many(tmp_path: Path) -> None:
    for n in range(compiled.KEPT_FOLDERS + 4):
        (tmp_path / f"{n:016x}").mkdir()
    compiled._remove_old(tmp_path)
    assert len(list(tmp_path.iterdir())) == compiled.KEPT_FOLDERS + 4


@pytest.mark.slow
def test_using_a_folder_keeps_it_young(copy: Path) -> None:
    folder, _, _ = compile_one_law(copy)
    os.utime(folder, (0, 0))
    compile_one_law(copy)
    assert folder.stat().st_mtime > time.time() - 600


def test_every_compiled_function_stands_in_a_counted_file() -> None:
    """Whatever the decorator is called or however it is applied: by the functions that came of it."""
    counted = set(compiled.kernel_sources())
    uncounted = []
    for info in pkgutil.walk_packages(simrun.__path__, "simrun."):
        if info.name.endswith("__main__"):
            continue
        for name, thing in vars(importlib.import_module(info.name)).items():
            if isinstance(thing, compiled.Deferred) and _file(thing) not in counted:
                uncounted.append(f"{info.name}.{name}")
    assert uncounted == []


def _file(function: Any) -> Path:
    return Path(function.__wrapped__.__code__.co_filename)


@pytest.mark.parametrize(
    "line",
    [
        "from simrun.laws.constants import HALF",
        "from .constants import HALF",
        "from simrun.laws import constants",
        "from . import constants",
        "import simrun.laws.constants as constants",
        "def late():\n    from simrun.laws.constants import HALF",
    ],
)
def test_what_a_kernel_file_imports_counts(
    line: str, copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A constant is frozen into what is compiled, whatever file it comes from."""
    package = copy / "simrun"
    (package / "laws" / "constants.py").write_text("from simrun.laws.more import *\nHALF = 0.5\n")
    (package / "laws" / "more.py").write_text("")
    bend = package / "laws" / "bend.py"
    bend.write_text(bend.read_text("utf-8") + f"\n\n{line}\n", encoding="utf-8")
    monkeypatch.setattr(compiled, "_PACKAGE", package)
    names = {path.name for path in compiled.kernel_sources()}
    assert {"constants.py", "more.py", "bend.py", "step.py"} <= names


def test_other_packages_beside_ours_do_not_count(
    copy: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Installed, the package has numpy and all others for neighbours."""
    (copy / "math.py").write_text("")
    (copy / "typing").mkdir()
    (copy / "typing" / "__init__.py").write_text("")
    monkeypatch.setattr(compiled, "_PACKAGE", copy / "simrun")
    outside = [path for path in compiled.kernel_sources() if copy / "simrun" not in path.parents]
    assert outside == [Path(compiled.__file__)]


def test_two_copies_of_one_text_share_a_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A package that brings its engine along does not know where it will lie; where in it a law is counts."""
    names = {}
    for place in ("one", "other"):
        for law in ("law.py", "other_law.py"):
            (tmp_path / place).mkdir(exist_ok=True)
            (tmp_path / place / law).write_text("same")
            monkeypatch.setattr(compiled, "_PACKAGE", tmp_path / place)
            names[place, law] = compiled.digest_of([tmp_path / place / law])
    assert names["one", "law.py"] == names["other", "law.py"] != names["one", "other_law.py"]


@pytest.mark.slow
def test_only_another_text_is_compiled_again(copy: Path) -> None:
    """Used again; a file written anew with the same text is the same; an edited one is not."""
    assert compile_one_law(copy)[1]
    assert not compile_one_law(copy)[1]
    for path in (copy / "simrun").rglob("*.py"):
        os.utime(path)
    assert not compile_one_law(copy)[1]
    law = copy / "simrun" / "laws" / "bend.py"
    law.write_text(law.read_text("utf-8") + "\n# edited\n", encoding="utf-8")
    assert compile_one_law(copy)[1]


def event(name: str) -> Any:
    """What numba says of a function that it compiles."""
    return SimpleNamespace(
        data={"dispatcher": SimpleNamespace(py_func=SimpleNamespace(__name__=name))}
    )


def test_the_kernel_is_told_once_and_time_counts_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Functions inside others are in their time; before the kernel nothing is said."""
    times = iter([10.0, 11.0, 20.0, 23.0])
    monkeypatch.setattr(compiling, "time", SimpleNamespace(perf_counter=lambda: next(times)))
    said: list[str] = []
    watch = compiling.Compiling(lambda: said.append("told"))
    watch.on_start(event("string_path"))
    watch.on_end(event("string_path"))
    assert said == []
    for name in (compiling.KERNEL, "one_step"):
        watch.on_start(event(name))
    assert said == ["told"]
    watch.on_end(event("one_step"))
    watch.on_end(event(compiling.KERNEL))
    assert watch.seconds == 4.0


def test_the_kernel_is_called_so() -> None:
    """Told by its name: a kernel of another name would be compiled without a word."""
    from simrun.engine.kernel import step

    assert getattr(step, compiling.KERNEL).__name__ == compiling.KERNEL


def test_what_others_are_made_of_is_not_compiled_by_itself() -> None:
    """A function that only another one calls gets no code of its own, until somebody calls it."""

    @compiled.compiled
    def half(metres: float) -> float:
        return 0.5 * metres

    @compiled.compiled
    def quarter(metres: float) -> float:
        return half(half(metres))

    made: Any = half
    assert quarter(3.0) == 0.75
    assert made.overloads == {}
    assert half(3.0) == 1.5
    assert len(made.overloads) == 1
