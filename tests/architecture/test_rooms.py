"""A room imports only rooms below it. Planted breaches must be found."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "simrun"

FLOORS = [
    {"__main__"},
    {"cli"},
    {"study"},
    {"pictures", "measure"},
    {"race"},
    {"tactics", "laws"},
    {"state"},
    {"scenario"},
    {"course", "runners"},
    {"sources"},
    {"compiled", "writing", "units"},
    {"errors"},
]
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}

NEVER = {(top, low) for top in ("pictures", "measure") for low in ("race", "laws", "tactics")}

ONLY_IN = {
    "mesa": {"race"},
    "matplotlib": {"pictures"},
    "imageio": {"pictures"},
    "imageio_ffmpeg": {"pictures"},
    "PIL": {"pictures"},
    "shapely": {"course"},
    "pyproj": {"course"},
    "distributed": {"study"},
    "optuna": {"study"},
    "argparse": {"cli"},
}

LONGEST_MODULE = 400


def imported(tree: ast.AST, module: tuple[str, ...]) -> list[str]:
    """Every module name that is imported anywhere in a file, relative ones made absolute."""
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = list(module[: len(module) - node.level]) if node.level else []
            stem = ".".join([*base, *([node.module] if node.module else [])])
            names += [stem, *(f"{stem}.{alias.name}" for alias in node.names)]
    return names


def breaches(path: Path, package: Path, text: str | None = None) -> list[str]:
    """What does this file import, call or hold that its room must not?"""
    module = ("simrun", *path.relative_to(package).with_suffix("").parts)
    room = module[1]
    tree = ast.parse(text if text is not None else path.read_text("utf-8"))
    found = []
    for name in imported(tree, module):
        top, *rest = name.split(".")
        if top in ONLY_IN and room not in ONLY_IN[top]:
            found.append(f"{'.'.join(module)} imports {name}")
        if top == "simrun" and rest and rest[0] in FLOOR and room != "__init__":
            found += _wrong_floor(".".join(module), room, rest[0])
        if top == "simrun" and not rest and room not in ("cli", "__init__"):
            found.append(f"{'.'.join(module)} comes in through the front door")
        if top == "importlib":
            found.append(f"{'.'.join(module)} imports by name, which nobody can check")
    for node in ast.walk(tree):
        # Named at all, not only called: it might be handed on.
        word = node.id if isinstance(node, ast.Name) else ""
        if word == "__import__" or (word == "print" and room != "cli"):
            found.append(f"{'.'.join(module)} uses {word}")
    return found


def _wrong_floor(module: str, room: str, other: str) -> list[str]:
    if room == other:
        return []
    if (room, other) in NEVER or FLOOR[other] <= FLOOR[room]:
        return [f"{module} imports {other}"]
    return []


FILES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_rooms_import_only_rooms_below(path: Path) -> None:
    """Relative imports, imports inside functions and for type checking only count too."""
    # The version is a plain constant at the top of the package.
    text = path.read_text("utf-8").replace("from simrun import __version__", "")
    assert breaches(path, PACKAGE, text) == []


def test_every_room_has_a_floor() -> None:
    """A room that is not in the list would be free to import and to be imported."""
    rooms = {path.relative_to(PACKAGE).parts[0].removesuffix(".py") for path in FILES}
    assert rooms - {"__init__"} == set(FLOOR)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_module_is_too_long(path: Path) -> None:
    """Would a newcomer know which half to open?"""
    assert len(path.read_text("utf-8").splitlines()) <= LONGEST_MODULE


@pytest.mark.parametrize(
    ("file", "breach"),
    [
        ("laws/bend.py", "from simrun.engine.run import Race"),
        ("measure/loss.py", "def f():\n    from ..race import run"),
        ("pictures/film/gif.py", "import simrun.tactics.margins as lines"),
        ("state/recording_file.py", "from simrun.measure import loss"),
        ("course/strip.py", "from ..scenario.scenario import Scenario"),
        ("course/build.py", "import matplotlib.pyplot as plt"),
        ("scenario/reader.py", "import mesa"),
        ("runners/body.py", "def f():\n    import shapely.geometry"),
        ("pages/text.py", "print(1)"),
        ("pages/text.py", "def f(say=print):\n    say(1)"),
        ("sources/library.py", "import simrun"),
        ("measure/loss.py", "from simrun import race_room, race"),
        ("measure/loss.py", "from .. import animate"),
        ("pictures/film/gif.py", "from simrun.measure.loss import time_lost"),
        ("measure/loss.py", "from simrun.pictures import gif"),
        ("tactics/gap.py", "from ..laws import bend"),
        ("runners/line_choice.py", "from simrun.course.strip import Gate"),
        ("base/writing.py", "from . import compiled"),
        ("base/errors.py", "from .sources import figure"),
        ("scenario/__init__.py", "from ..state import arrays"),
        ("pages/text.py", "if TYPE_CHECKING:\n    from simrun.engine.run import Race"),
        ("laws/bend.py", "import importlib\nrace = importlib.import_module('simrun.engine.run')"),
        ("laws/bend.py", "race = __import__('simrun.engine.run')"),
        ("state/recording_file.py", "import argparse as words"),
        ("course/build.py", "from PIL import Image as I"),
        ("measure/wheel.py", "from pyproj import Geod"),
        ("measure/crowd.py", "def f():\n    import optuna"),
        ("engine/run.py", "from simrun.cli import main"),
    ],
)
def test_a_planted_breach_is_found(file: str, breach: str) -> None:
    """Each kind of breach, planted at the end of a real file, is reported."""
    path = PACKAGE / file
    assert breaches(path, PACKAGE, path.read_text("utf-8") + "\n" + breach) != []


def test_breaches_are_found_on_disk(tmp_path: Path) -> None:
    """The same through the files: a copy of the package with one bad line, and with one line less."""
    copy = tmp_path / "simrun"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    bad = copy / "laws" / "bend.py"
    bad.write_text(bad.read_text("utf-8") + "\nfrom ..race import run\n", encoding="utf-8")
    found = {p.relative_to(copy).as_posix(): breaches(p, copy) for p in copy.rglob("*.py")}
    del found["engine/run.py"]  # takes the version from the top, see above
    assert {name for name, breach in found.items() if breach} == {"laws/bend.py"}
    assert found["laws/bend.py"] == ["simrun.laws.bend imports race"] * 2


@pytest.mark.parametrize(
    ("words", "absent"),
    [
        (
            ["-m", "simrun", "--help"],
            {"numpy", "numba", "pandas", "mesa", "matplotlib", "pydantic"},
        ),
        (["-c", "import simrun.engine.run"], {"mesa", "pandas", "matplotlib", "shapely"}),
        (["-c", "import simrun.pictures.film.gif"], {"mesa", "numba", "pandas"}),
    ],
)
def test_heavy_packages_wait_until_they_are_needed(words: list[str], absent: set[str]) -> None:
    """Help comes at once because it loads nothing; and nothing but the mesa face loads mesa."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *words],
        cwd=PACKAGE.parent,
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = {
        line.rpartition("|")[2].strip().partition(".")[0] for line in done.stderr.splitlines()
    }
    assert "simrun" in loaded
    assert loaded & absent == set()
