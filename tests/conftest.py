"""Lets the tests import their helpers as `tests.helpers`, and compiles the engine before many run at once."""

import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
sys.path.insert(0, str(TOP))


def pytest_configure(config: pytest.Config) -> None:
    """Before workers start, in a process of its own: else each of them would compile the same at once."""
    at_once = getattr(config.option, "numprocesses", None) and not hasattr(config, "workerinput")
    if at_once and not config.option.collectonly:
        subprocess.run([sys.executable, "-m", "tests.helpers.engine"], cwd=TOP, check=True)
