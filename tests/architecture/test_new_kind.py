"""A stranger adds a kind of answer by adding one folder: the recipe of DEVELOPERS.md, carried out."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]


def recipe() -> dict[str, str]:
    """The files of the recipe as DEVELOPERS.md prints them: {path: text}."""
    text = (TOP / "DEVELOPERS.md").read_text("utf-8")
    found = re.findall(
        r"`(simrun/answers/headcount/\w+\.py)`\n+```python\n(.*?)```", text, re.DOTALL
    )
    return dict(found)


@pytest.mark.slow
def test_the_recipe_of_a_kind_runs(tmp_path: Path) -> None:
    """Copied out of the document into a copy of the house, the command is there, with help, text and JSON."""
    ignored = shutil.ignore_patterns("__pycache__")
    for part in ("simrun", "scenarios", "shared"):
        shutil.copytree(TOP / part, tmp_path / part, ignore=ignored)
    files = recipe()
    assert len(files) >= 3
    for name, text in files.items():
        place = tmp_path / name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, encoding="utf-8")

    def run(*words: str) -> str:
        done = subprocess.run(
            [sys.executable, "-m", "simrun", *words],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(tmp_path)},
            capture_output=True,
            text=True,
            check=True,
        )
        return done.stdout

    assert "headcount" in run("--help")
    said = run("headcount", "scenarios/dual_meet.toml")
    assert "runners" in said.splitlines()[0]
    frame = json.loads(run("headcount", "scenarios/dual_meet.toml", "--json"))
    assert frame["command"] == "headcount"
    assert frame["answers"][0]["sentence"] == said.splitlines()[0]
