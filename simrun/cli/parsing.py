"""How is a command line read? Every command is built from what its kind declares; a mistake is one line."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import Any

from simrun.answers.kind import Asked, Kind, Option
from simrun.answers.options import options_of
from simrun.base.errors import nearest_word
from simrun.base.version import VERSION
from simrun.cli.completion import SHELLS, Completion

EXIT_BAD_INPUT = 2


class Parser(argparse.ArgumentParser):
    """argparse, with one line for a mistake and the nearest word of this command."""

    def error(self, message: str) -> Any:
        if "invalid choice" in message:
            message = self._of_choices(message)
        print(f"simrun: {message}", file=sys.stderr)
        sys.exit(EXIT_BAD_INPUT)

    def _of_choices(self, message: str) -> str:
        """What was allowed where this was found: the choices of that one option, no other's."""
        blamed = message.partition(":")[0].removeprefix("argument ")
        found = message.split("'")[1] if "'" in message else ""
        known = [
            str(choice)
            for action in self._actions
            if action.choices and blamed in ("/".join(action.option_strings), action.metavar)
            for choice in action.choices
        ]
        nearest = nearest_word(found, known)
        told = f"{blamed}: " if blamed.startswith("-") else ""
        told += f"{found!r}: unknown; one of {', '.join(known)}"
        return told + (f"; did you mean {nearest!r}?" if nearest else "")

    def parse_args(self, words: Any = None, space: Any = None) -> Any:  # type: ignore[override]
        """Everything given must be known: what is not is told with the nearest option of its command."""
        asked, unknown = self.parse_known_args(words, space)
        if unknown:
            own: Parser = getattr(asked, "_command", self)
            known = [word for action in own._actions for word in action.option_strings]
            nearest = nearest_word(unknown[0].partition("=")[0], known)
            hint = f"; did you mean {nearest!r}?" if nearest else ""
            own.error(f"unrecognized arguments: {' '.join(unknown)}{hint}")
        return asked


def parser_of(kinds: Sequence[Kind]) -> Parser:
    """Every command and its options, from the kinds."""
    top = Parser(
        prog="simrun",
        allow_abbrev=False,
        description="What does our starting box cost, and which line should we take? "
        "Simulates the start of mass-start running races and shows it.",
        epilog="Begin with: simrun demo, then simrun race scenarios/dual_meet.toml",
    )
    top.add_argument("--version", action="version", version=f"simrun {VERSION}")
    top.add_argument(
        "--completion",
        action=Completion,
        choices=SHELLS,
        help="a script that completes commands and options; for bash: source <(simrun --completion bash)",
    )
    commands = top.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for kind in kinds:
        command = commands.add_parser(
            kind.name, help=kind.question, description=kind.about, allow_abbrev=False
        )
        _add_options(command, options_of(kind))
        command.set_defaults(_kind=kind, _command=command)
    return top


def _add_options(command: argparse.ArgumentParser, options: Sequence[Option]) -> None:
    groups: dict[str, Any] = {}
    for option in options:
        place = command
        if option.group:
            if option.group not in groups:
                groups[option.group] = command.add_mutually_exclusive_group()
            place = groups[option.group]
        _add(place, option)


def _add(place: Any, option: Option) -> None:
    how: dict[str, Any] = {"help": option.help}
    if option.switch:
        place.add_argument(option.name, dest=option.key, action="store_true", **how)
        return
    how |= {"type": _reader(option.read)}
    how |= {"choices": option.choices} if option.choices else {}
    if option.is_plain:
        how |= {"nargs": "+", "metavar": option.shown or option.name} if option.many else {}
        how |= {"nargs": "?", "default": option.default} if option.default is not None else {}
        place.add_argument(option.name, **how)
        return
    how |= {"action": "append"} if option.many else {}
    if not option.choices:
        how["metavar"] = option.shown or option.key.upper()
    default = [] if option.many and option.default is None else option.default
    place.add_argument(
        option.name, dest=option.key, default=default, required=option.required, **how
    )


def _reader(read: Callable[[str], Any]) -> Callable[[str], Any]:
    """The same reader, its one line of what is wrong in argparse's own kind of error."""

    def checked(text: str) -> Any:
        try:
            return read(text)
        except ValueError as wrong:
            raise argparse.ArgumentTypeError(str(wrong)) from None

    return checked


def asked_of(found: argparse.Namespace) -> tuple[Kind, Asked]:
    """Which kind was asked for, and what of it?"""
    values = {key: value for key, value in vars(found).items() if not key.startswith("_")}
    return found._kind, Asked(**values)
