"""What completes a command in a shell? A script for it, made of what the commands declare."""

from __future__ import annotations

import argparse
from typing import Any

SHELLS = ("bash", "zsh", "fish")

FOLDERS = ("out", "folder")
FILES = (
    "file",
    "files",
    "entries",
    "box_sheet",
    "answers",
    "results",
    "counts",
    "starts",
    "beside",
)
"""Which options, by what they are called, want something that lies on the disk."""


def script_for(shell: str, parser: argparse.ArgumentParser) -> str:
    """The script that a shell reads once. Check: tests/journeys/test_completion.py."""
    import shtab

    for action in _actions(parser):
        if action.dest in FILES:
            action.complete = shtab.FILE  # type: ignore[attr-defined]
        elif action.dest in FOLDERS:
            action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
    return str(shtab.complete(parser, shell))


def _actions(parser: argparse.ArgumentParser) -> list[argparse.Action]:
    """The options of the program and of all its commands."""
    found = []
    for action in parser._actions:
        found.append(action)
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                found += _actions(command)
    return found


class Completion(argparse.Action):
    """Print the script and leave, as the version is printed."""

    def __call__(self, parser: argparse.ArgumentParser, space: Any, shell: Any, *_: Any) -> None:
        print(script_for(str(shell), parser), end="")
        parser.exit()
