"""Folders of a size to be kept in mind, file names that mean one thing, and checks that exist."""

from __future__ import annotations

import re
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.architecture.house import PACKAGE

FEWEST, MOST = 3, 12
STANDARD = {"__init__", "__main__", "run", "result", "words", "charts", "page"}
"""Names that every kind of answer may use; any other name stands once in the house."""

CHECK = re.compile(r"Check:((?:\s+(?:tests/[\w/]+\.py|[\w/]+\.py)[^\n,.;]*[,.;]?)+)")
FILE = re.compile(r"[\w/]+\.py")


def folders(package: Path) -> Iterator[Path]:
    """Every folder that holds code, the package's own aside: it holds only the two doors."""
    for folder in sorted({path.parent for path in package.rglob("*.py")}):
        if folder != package:
            yield folder


def sizes(package: Path) -> list[str]:
    """Which folders hold too few files or too many? `__init__` aside."""
    found = []
    for folder in folders(package):
        files = [p for p in folder.iterdir() if p.is_file() and p.name != "__init__.py"]
        # A folder of folders alone, such as pictures/, has nothing of its own to be kept in mind.
        if files and not FEWEST <= len(files) <= MOST:
            found.append(f"{folder.relative_to(package)}: {len(files)} files")
    return found


TWINS = ({"kernel", "batch"},)
"""Folders of two engines for one thing: a name may stand in both, and then means the same phase."""


def double_names(package: Path) -> list[str]:
    """Which file names stand in more than one folder? Those of twin folders are counted once."""
    rooms = {name: sorted(twins)[0] for twins in TWINS for name in twins}
    places = {
        (path.stem, rooms.get(path.parent.name, path.parent)) for path in package.rglob("*.py")
    }
    names = Counter(stem for stem, _ in places)
    return sorted(name for name, count in names.items() if count > 1 and name not in STANDARD)


def missing_checks(package: Path) -> list[str]:
    """Which test files are named by a `Check:` and are not there, or never name what they check?"""
    top = package.parent
    found = []
    for path in sorted(package.rglob("*.py")):
        for match in CHECK.finditer(path.read_text("utf-8")):
            for name in FILE.findall(match[1]):
                file = top / name if "/" in name else next((top / "tests").rglob(name), None)
                if file is None or not file.is_file():
                    found.append(f"{path.relative_to(top)}: {name}")
    return found


def test_folders_are_of_a_size_to_be_kept_in_mind() -> None:
    """3 to 12 files each."""
    assert sizes(PACKAGE) == []


def test_a_file_name_means_one_thing() -> None:
    """Whoever says `lines` should not have to say which."""
    assert double_names(PACKAGE) == []


def test_every_check_that_is_named_exists() -> None:
    """A law that names its proof has one."""
    assert missing_checks(PACKAGE) == []


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The package and its tests, to be spoilt."""
    for part in ("simrun", "tests"):
        ignored = shutil.ignore_patterns("__pycache__")
        shutil.copytree(PACKAGE.parent / part, tmp_path / part, ignore=ignored)
    return tmp_path / "simrun"


def test_planted_breaches_are_found(copy: Path) -> None:
    """A crowded folder, a lonely file, a second file of a name, a check that is not there."""
    for number in range(MOST):
        (copy / "laws" / f"more_{number}.py").write_text("")
    (copy / "lonely").mkdir()
    (copy / "lonely" / "alone.py").write_text("")
    (copy / "measure" / "bend.py").write_text('"""Check: tests/unit/test_nowhere.py."""\n')
    assert {line.partition(":")[0] for line in sizes(copy)} >= {"laws", "lonely"}
    assert "bend" in double_names(copy)
    assert "simrun/measure/bend.py: tests/unit/test_nowhere.py" in missing_checks(copy)
