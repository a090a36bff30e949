"""A room imports only rooms below it, some libraries live in one only. Planted breaches are found."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.house import FILES, FLOOR, PACKAGE, circles, graph, imported, name_of

NEVER = {(top, low) for top in ("pictures", "measure") for low in ("engine", "laws", "tactics")}
NEVER |= {("pages", "pictures"), ("pictures", "measure"), ("measure", "pictures")}

ONLY_IN = {
    "mesa": ("engine/model.py",),
    "matplotlib": ("pictures/", "/charts.py"),
    "imageio": ("pictures/",),
    "imageio_ffmpeg": ("pictures/",),
    "pi_heif": ("pictures/walk/photographs.py",),
    "PIL": ("pictures/",),
    "shapely": ("course/",),
    "pyproj": ("course/",),
    "distributed": ("trials/",),
    "optuna": ("answers/",),
    "sklearn": ("trials/learning/", "trials/handbook/fitted.py"),
    "argparse": ("cli/",),
    "shtab": ("cli/",),
    "jinja2": ("pages/", "pictures/replay/"),
    "importlib": ("answers/kinds.py", "tactics/own/given.py", "__init__.py"),
    "starlette": ("desk/",),
    "uvicorn": ("desk/",),
    "tomlkit": ("scenario/in_text/toml_edit.py",),
}
"""Where a library may be imported: the beginning of a path, or its end."""

LONGEST_MODULE = 400


def breaches(path: Path, package: Path, text: str | None = None) -> list[str]:
    """What does this file import, call or hold that its room must not?"""
    module = name_of(path, package)
    room, name = (module[1] if len(module) > 1 else "__init__"), ".".join(module)
    where = path.relative_to(package).as_posix()
    tree = ast.parse(text if text is not None else path.read_text("utf-8"))
    found = []
    for other in imported(tree, path, package):
        top, *rest = other.split(".")
        if top in ONLY_IN and not _may(where, ONLY_IN[top]):
            found.append(f"{name} imports {other}")
        if top == "simrun" and rest and rest[0] in FLOOR and room != "__init__":
            found += _wrong_floor(name, room, rest[0])
        if top == "simrun" and room != "__init__" and (not rest or rest[0] not in FLOOR):
            found.append(f"{name} comes in through the front door")
    for node in ast.walk(tree):
        # Named at all, not only called: it might be handed on.
        word = node.id if isinstance(node, ast.Name) else ""
        if word == "__import__" or (word == "print" and room != "cli"):
            found.append(f"{name} uses {word}")
    return found


def _may(where: str, places: tuple[str, ...]) -> bool:
    return any(where.startswith(place) or where.endswith(place) for place in places)


def _wrong_floor(module: str, room: str, other: str) -> list[str]:
    if room == other:
        return []
    if (room, other) in NEVER or FLOOR[other] <= FLOOR[room]:
        return [f"{module} imports {other}"]
    return []


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_rooms_import_only_rooms_below(path: Path) -> None:
    """Relative imports, imports inside functions and for type checking only count too."""
    assert breaches(path, PACKAGE) == []


def test_every_room_has_a_floor() -> None:
    """A room that is not in the list would be free to import and to be imported."""
    rooms = {path.relative_to(PACKAGE).parts[0].removesuffix(".py") for path in FILES}
    assert rooms - {"__init__"} == set(FLOOR)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_module_is_too_long(path: Path) -> None:
    """Would a newcomer know which half to open?"""
    assert len(path.read_text("utf-8").splitlines()) <= LONGEST_MODULE


def test_no_module_leads_back_to_itself() -> None:
    """The graph of modules has no circle, whichever way an import is written."""
    assert circles(graph()) == []


@pytest.mark.parametrize(
    ("file", "breach"),
    [
        ("base/errors.py", "from simrun.base.writing import write_text"),
        ("base/errors.py", "def f():\n    from . import writing"),
        ("course/tracks/track_lines.py", "def f():\n    from .track_file import read_tracks"),
        (
            "scenario/day.py",
            "if TYPE_CHECKING:\n    from simrun.scenario.scenario import Scenario",
        ),
        ("answers/boxes/words.py", "import simrun.answers.boxes.page"),
    ],
)
@pytest.mark.slow
def test_a_planted_circle_is_found(file: str, breach: str, tmp_path: Path) -> None:
    """At the top, inside a function, relative, for types only: each closes a circle."""
    copy = tmp_path / "simrun"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    assert circles(graph(copy)) == []
    bad = copy / file
    bad.write_text(bad.read_text("utf-8") + f"\n{breach}\n", encoding="utf-8")
    assert any(".".join(name_of(bad, copy)) in part for part in circles(graph(copy)))


@pytest.mark.parametrize(
    ("file", "breach"),
    [
        ("laws/bend.py", "from simrun.engine.run import Race"),
        ("measure/loss.py", "def f():\n    from ..engine import run"),
        ("pictures/film/gif.py", "import simrun.tactics.margins as lines"),
        ("state/recording_file.py", "from simrun.measure import loss"),
        ("course/strip.py", "from ..scenario.scenario import Scenario"),
        ("course/build.py", "import matplotlib.pyplot as plt"),
        ("answers/boxes/words.py", "import matplotlib"),
        ("scenario/reader.py", "import mesa"),
        ("engine/run.py", "import mesa"),
        ("runners/body.py", "def f():\n    import shapely.geometry"),
        ("pages/text.py", "print(1)"),
        ("pages/text.py", "def f(say=print):\n    say(1)"),
        ("sources/library.py", "import simrun"),
        ("measure/loss.py", "from simrun import read"),
        ("measure/loss.py", "from .. import animate"),
        ("pictures/film/gif.py", "from simrun.measure.loss import time_lost"),
        ("measure/loss.py", "from simrun.pictures.film import gif"),
        ("tactics/gap.py", "from ..laws import bend"),
        ("runners/line_choice.py", "from simrun.course.strip import Gate"),
        ("base/writing.py", "from ..sources import library"),
        ("base/errors.py", "from ..sources import figure"),
        ("scenario/__init__.py", "from ..state import arrays"),
        ("pages/text.py", "if TYPE_CHECKING:\n    from simrun.answers.kind import Kind"),
        ("laws/bend.py", "import importlib\nrace = importlib.import_module('simrun.engine.run')"),
        ("laws/bend.py", "race = __import__('simrun.engine.run')"),
        ("state/recording_file.py", "import argparse as words"),
        ("course/build.py", "from PIL import Image as I"),
        ("measure/wheel.py", "from pyproj import Geod"),
        ("measure/crowd.py", "def f():\n    import optuna"),
        ("engine/run.py", "from simrun.cli import main"),
        ("answers/boxes/page.py", "from jinja2 import Environment"),
    ],
)
def test_a_planted_breach_is_found(file: str, breach: str) -> None:
    """Each kind of breach, planted at the end of a real file, is reported."""
    path = PACKAGE / file
    assert breaches(path, PACKAGE, path.read_text("utf-8") + "\n" + breach) != []


@pytest.mark.parametrize(
    ("words", "absent"),
    [
        (
            ["-m", "simrun", "--help"],
            {"numpy", "numba", "pandas", "mesa", "matplotlib", "pydantic"},
        ),
        (
            ["-m", "simrun", "check", "scenarios/brindle_fen.toml"],
            {"numba", "scipy", "pandas", "mesa", "matplotlib", "shapely", "jinja2"},
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
