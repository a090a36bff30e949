"""The documents' site: what Python offers stands on it, and its gallery's commands are commands."""

from __future__ import annotations

import re
import shlex
import sys
from pathlib import Path

import pytest

import simrun
from simrun.answers.kinds import all_kinds
from simrun.cli.door import parser
from simrun.tactics.own.senses import SENSES

DOCS = Path(__file__).parents[2] / "shared" / "docs"
sys.path.insert(0, str(DOCS))
import make  # noqa: E402 (it stands beside its pages)

sys.path.remove(str(DOCS))


def test_everything_that_python_offers_has_its_place() -> None:
    """By name; a recording is told of where it is made."""
    page = (DOCS / "python.md").read_text("utf-8") + (DOCS / "own_tactic.md").read_text("utf-8")
    told = set(re.findall(r"auto\w+:: (?:[\w.]+\.)?(\w+)", page))
    assert set(simrun.__all__) - told == {"Recording"}


@pytest.mark.parametrize(("words", "picture"), [entry[:2] for entry in make.GALLERY])
def test_the_gallery_is_made_by_commands(words: str, picture: str) -> None:
    """Read as the command line reads them."""
    first, *rest = shlex.split(words)
    assert first == "simrun"
    assert parser().parse_args(rest).file.startswith("scenarios/")
    assert picture.endswith((".png", ".gif"))


def test_commands_and_senses_are_gathered_from_where_they_are_declared(tmp_path: Path) -> None:
    make.main(tmp_path / "site", pictures=False)
    commands = (tmp_path / "site" / "commands.md").read_text("utf-8")
    assert all(f"\n## {kind.name}\n" in commands for kind in all_kinds())
    senses = (tmp_path / "site" / "senses.md").read_text("utf-8")
    assert all(f"`{name}`" in senses for name in SENSES)
