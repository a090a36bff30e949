"""Find the race days that come along, and look at what would be written over."""

from __future__ import annotations

from pathlib import Path

from simrun.answers.demo.result import Demo
from simrun.answers.kind import Asked, Progress
from simrun.base.errors import BadInput, Problem
from simrun.sources.library import scenarios_folder

HERE = Path("scenarios")


def answer(asked: Asked, progress: Progress) -> list[Demo]:
    """What `simrun demo` does."""
    return [run_demo(asked.out or HERE, asked.units or "metric")]


def run_demo(folder: str | Path, units: str = "metric") -> Demo:
    """Every file that comes along, to be saved in this folder.

    Raises BadInput where another file of the same name stands there. Check: tests/journeys/test_demo.py.
    """
    where = Path(folder)
    files = tuple(sorted(path for path in scenarios_folder().iterdir() if path.is_file()))
    taken = [path.name for path in files if _is_another(where / path.name, path)]
    if taken:
        found = f"{', '.join(taken)} there already, and not as it comes with simrun"
        raise BadInput(Problem(f"{where}", found, "another folder: --out FOLDER"))
    return Demo(files, where, units)


def _is_another(there: Path, comes: Path) -> bool:
    """Does something else stand at this place?"""
    if not there.is_file():
        return there.exists()
    return there.read_bytes() != comes.read_bytes()
