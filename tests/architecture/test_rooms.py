"""A room imports only rooms below it. Planted breaches must be found."""

from __future__ import annotations

import ast
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
    {"compiled", "writing"},
    {"errors"},
]
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}

NEIGHBOURS = {("pictures", "measure"), ("runners", "course")}
"""Rooms of one floor that may use each other, in this direction only."""

NEVER = {(top, low) for top in ("pictures", "measure") for low in ("race", "laws", "tactics")}

ONLY_IN = {
    "mesa": {"race"},
    "matplotlib": {"pictures"},
    "imageio": {"pictures"},
    "PIL": {"pictures"},
    "shapely": {"course"},
    "pyproj": {"course"},
    "distributed": {"study"},
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
    for node in ast.walk(tree):
        called = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        if called and node.func.id == "print" and room != "cli":
            found.append(f"{'.'.join(module)} prints")
    return found


def _wrong_floor(module: str, room: str, other: str) -> list[str]:
    if room == other or (room, other) in NEIGHBOURS:
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


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_module_is_too_long(path: Path) -> None:
    """Would a newcomer know which half to open?"""
    assert len(path.read_text("utf-8").splitlines()) <= LONGEST_MODULE


@pytest.mark.parametrize(
    ("file", "breach"),
    [
        ("laws/bend.py", "from simrun.race.run import Race"),
        ("measure/loss.py", "def f():\n    from ..race import run"),
        ("pictures/gif.py", "import simrun.tactics.lines as lines"),
        ("state/files.py", "from simrun.measure import loss"),
        ("course/strip.py", "from ..scenario.scenario import Scenario"),
        ("course/build.py", "import matplotlib.pyplot as plt"),
        ("scenario/reader.py", "import mesa"),
        ("runners/body.py", "def f():\n    import shapely.geometry"),
        ("measure/pages.py", "print(1)"),
        ("sources/library.py", "import simrun"),
    ],
)
def test_a_planted_breach_is_found(file: str, breach: str) -> None:
    """Each kind of breach, planted at the end of a real file, is reported."""
    path = PACKAGE / file
    assert breaches(path, PACKAGE, path.read_text("utf-8") + "\n" + breach) != []
