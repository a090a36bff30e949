"""The command line. What is said to whom, and how it ends, whatever happens on the way."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import NoReturn

from simrun.base.stopped import Stopped, ignore_stops, stops_heeded

EXIT_STOPPED = 130


def main(words: Sequence[str] | None = None) -> int:
    """Carry out one command; returns the exit code."""
    try:
        with stops_heeded():
            from simrun.cli.door import carry_out  # a stop while this is loaded is one line, too

            return carry_out(words)
    except KeyboardInterrupt as stop:
        from simrun.cli.console import aside

        aside("\nsimrun: stopped; no file is half-written")
        return stop.code if isinstance(stop, Stopped) else EXIT_STOPPED


def run() -> NoReturn:
    """Carry out the command of this process, and end it."""
    code = main()
    ignore_stops()
    sys.exit(code)
