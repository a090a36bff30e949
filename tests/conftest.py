"""Lets the tests import their helpers as `tests.helpers`, and compiles the engine before many run at once."""

import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

TOP = Path(__file__).parents[1]
sys.path.insert(0, str(TOP))


def pytest_configure(config: pytest.Config) -> None:
    """Before workers start, in a process of its own: else each of them would compile the same at once."""
    at_once = getattr(config.option, "numprocesses", None) and not hasattr(config, "workerinput")
    if at_once and not config.option.collectonly:
        subprocess.run([sys.executable, "-m", "tests.helpers.engine"], cwd=TOP, check=True)


@pytest.fixture(scope="session", autouse=True)
def nobody_waits_for_the_disk() -> Iterator[None]:
    """Stores of this process leave their bytes to the system at once: only a power cut could tell."""
    connect = sqlite3.connect

    def hurried(*given: Any, **options: Any) -> sqlite3.Connection:
        base = connect(*given, **options)
        base.execute("PRAGMA synchronous = OFF")
        return base

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sqlite3, "connect", hurried)
        yield
