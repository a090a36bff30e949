"""The kernel without the compiler: for debugging, and the same bits."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parents[3]

RUN = """
import simrun
scenario = simrun.read("scenarios/dual_meet.toml").changed({"clock.limit": 3})
print(simrun.race(scenario).position_m[:, :, :].tobytes().hex()[-4000:])
"""


def positions(**more: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", RUN],
        cwd=TOP,
        env={**os.environ, **more},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


@pytest.mark.slow
def test_plain_python_runs_the_same_race() -> None:
    """Three seconds of a dual meet with the compiler switched off: the same bits as with it."""
    assert positions(NUMBA_DISABLE_JIT="1") == positions(NUMBA_DISABLE_JIT="0")
