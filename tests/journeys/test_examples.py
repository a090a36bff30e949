"""The examples print what stands beside them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
EXAMPLES = sorted((TOP / "shared" / "examples").glob("*.py"))


@pytest.mark.slow
@pytest.mark.parametrize("script", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_prints_what_it_printed(script: Path) -> None:
    """To the letter: seeds give the same bits."""
    told = os.environ | {"PYTHONPATH": str(TOP)}
    words = [sys.executable, str(script)]
    done = subprocess.run(words, cwd=TOP, env=told, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout == script.with_suffix(".txt").read_text("utf-8")


def test_every_example_is_told_of() -> None:
    told = (TOP / "shared" / "examples" / "README.md").read_text("utf-8")
    assert len(EXAMPLES) >= 3
    assert all(f"`{path.name}`" in told for path in EXAMPLES)
