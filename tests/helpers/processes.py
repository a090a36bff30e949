"""How a command is started when a test wants to stop it."""

from __future__ import annotations

import signal


def hear_ctrl_c() -> None:
    """Before a new process begins: what a shell runs in the background hands down that it is not heard."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
