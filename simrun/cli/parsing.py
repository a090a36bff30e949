"""How is a command line read? One line for a mistake, and the words that several commands share."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from simrun.base.errors import nearest_word

EXIT_BAD_INPUT = 2


class Parser(argparse.ArgumentParser):
    """argparse, with one line for a mistake and the nearest word."""

    def error(self, message: str) -> Any:
        words = message.split("'")
        if "invalid choice" in message and len(words) > 1:
            known = [c for a in self._actions if a.choices for c in a.choices]
            nearest = nearest_word(words[1], [str(word) for word in known])
            message = f"{words[1]!r}: unknown; one of {', '.join(map(str, known))}"
            message += f"; did you mean {nearest!r}?" if nearest else ""
        if message.startswith("unrecognized arguments: -"):
            known = [word for action in self._all_actions() for word in action.option_strings]
            nearest = nearest_word(message.split()[2].partition("=")[0], known)
            message += f"; did you mean {nearest!r}?" if nearest else ""
        print(f"simrun: {message}", file=sys.stderr)
        sys.exit(EXIT_BAD_INPUT)

    def _all_actions(self) -> list[argparse.Action]:
        """The options of this parser and of its commands."""
        inner = [
            p for a in self._actions if isinstance(a.choices, dict) for p in a.choices.values()
        ]
        return self._actions + [action for parser in inner for action in parser._actions]


def add_common_words(command: argparse.ArgumentParser) -> None:
    """The words that every command takes."""
    command.add_argument(
        "--out", type=Path, metavar="FOLDER", help="where to write (default outputs/)"
    )
    command.add_argument("--units", choices=("metric", "us"), help="what the page speaks")
    command.add_argument("--json", action="store_true", help="figures only, as JSON")


def add_picture_words(command: argparse.ArgumentParser) -> None:
    """The words of commands that draw moving pictures."""
    command.add_argument("--follow", metavar="NAME", help="a team or a runner (default: our team)")
    command.add_argument(
        "--from", dest="from_s", type=float, metavar="S", help="first second shown"
    )
    command.add_argument("--to", dest="to_s", type=float, metavar="S", help="last second shown")
    command.add_argument("--speed", type=float, default=1.0, help="2 = twice as fast (default 1)")
    small = command.add_mutually_exclusive_group()
    small.add_argument(
        "--inset", metavar="NAME", help="the turn or throat shown small (default: the first turn)"
    )
    small.add_argument("--no-inset", action="store_true", help="no small picture")
    command.add_argument(
        "--no-pauses", action="store_true", help="never wait at the moments that decide"
    )


def add_study_words(command: argparse.ArgumentParser) -> None:
    """The words of commands that run many races."""
    command.add_argument(
        "--workers", type=count_of, metavar="N", help="processes (default: one a core)"
    )
    command.add_argument("--cluster", metavar="ADDRESS", help="a distributed scheduler instead")


def whole_number(text: str) -> int:
    """A whole number from 0, or one line of what is wrong."""
    if not text.isdecimal() or len(text) > 18:
        raise argparse.ArgumentTypeError(f"{text!r}; a whole number from 0 is needed")
    return int(text)


def count_of(text: str) -> int:
    """How many, at least one."""
    count = whole_number(text)
    if not 1 <= count <= 100_000:
        raise argparse.ArgumentTypeError(f"{text!r}; a whole number from 1 to 100000 is needed")
    return count


def fresh_count(text: str) -> int:
    """How many fresh races, enough for an interval."""
    count = count_of(text)
    if count < 5:
        raise argparse.ArgumentTypeError(f"{text!r}; at least 5 are needed")
    return count


def length_of(text: str) -> float:
    """Metres, or a text such as "150 yd", or one line of what is wrong."""
    from simrun.scenario.tables.lengths import LENGTH_WORDS, length_m
    from simrun.scenario.tables.values import RefusedError

    try:
        metres = length_m(float(text) if text.replace(".", "", 1).isdecimal() else text)
    except RefusedError:
        metres = -1.0
    if metres < 0:
        raise argparse.ArgumentTypeError(f"{text[:40]!r}; {LENGTH_WORDS}")
    return metres
