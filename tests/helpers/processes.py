"""How a command is started in a process of its own, perhaps to be stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).parents[2]


def hear_ctrl_c() -> None:
    """Before a new process begins: what a shell runs in the background, or beyond a closed terminal, hands
    down that neither is heard."""
    for stop in (signal.SIGINT, signal.SIGHUP):
        signal.signal(stop, signal.SIG_DFL)


def program(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """`python -m simrun` in a folder of its own."""
    return subprocess.run(
        [sys.executable, "-m", "simrun", *words],
        capture_output=True,
        text=True,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(TOP)},
    )
