"""The door as a test meets it: words in, and the code it leaves with."""

from __future__ import annotations

import subprocess
from collections.abc import Callable

from simrun.cli import main

Door = Callable[..., subprocess.CompletedProcess[str]]
"""Words and the folder to stand in; what a program of its own would leave with and say."""


def code_of(words: list[str]) -> int:
    """With what does the door leave, whether a word is wrong or what it means?"""
    try:
        return main(words)
    except SystemExit as left:
        return int(left.code or 0)
