"""The door: words on the command line, no logic."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from simrun.base.errors import SimrunError
from simrun.cli.courses import add_card, add_course
from simrun.cli.many_races import (
    add_boxes,
    add_disturb,
    add_evidence,
    add_finish,
    add_layout,
    add_tactic,
)
from simrun.cli.one_race import add_check, add_race, add_replay
from simrun.cli.parsing import EXIT_BAD_INPUT, Parser

EXIT_STOPPED = 130


def main(words: Sequence[str] | None = None) -> int:
    """Carry out one command; returns the exit code."""
    asked = parser().parse_args(words)
    try:
        return int(asked.carry_out(asked) or 0)
    except SimrunError as error:
        print(f"simrun: {error}", file=sys.stderr)
        return EXIT_BAD_INPUT
    except KeyboardInterrupt:
        print("\nsimrun: stopped; no file is half-written", file=sys.stderr)
        return EXIT_STOPPED
    except BrokenPipeError:
        return 0


def parser() -> argparse.ArgumentParser:
    """Every command and its words."""
    top = Parser(
        prog="simrun",
        description="What does our starting box cost, and which line should we take? "
        "Simulates the start of a mass-start running race and shows it.",
        epilog="Begin with:  simrun race scenarios/dual_meet.toml",
    )
    commands = top.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for add in (
        add_race,
        add_check,
        add_replay,
        add_boxes,
        add_tactic,
        add_layout,
        add_course,
        add_card,
        add_finish,
        add_disturb,
        add_evidence,
    ):
        add(commands)
    return top
