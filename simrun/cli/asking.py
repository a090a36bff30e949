"""Questions put at the terminal, one after the other; answers may also be piped in, a line each."""

from __future__ import annotations

import sys
from typing import Any

from simrun.answers.kind import Ask, Asked, Kind
from simrun.base.errors import BadInput, Problem
from simrun.cli.console import aside

MOST_ASKED = 100
LONGEST_ANSWER = 1000


def put_questions(kind: Kind, asked: Asked) -> None:
    """Ask what the kind wants to know; what an option settled is not asked.

    At a terminal a wrong answer is told and the question put again; piped in, it is refused. Raises
    BadInput. Check: tests/journeys/test_new.py.
    """
    for _ in range(MOST_ASKED):
        ask = kind.asks(asked) if kind.asks else None
        if ask is None:
            return
        setattr(asked, ask.key, _answered(ask))


def _answered(ask: Ask) -> Any:
    at_terminal = sys.stdin is not None and sys.stdin.isatty()
    while True:
        answer = _line(f"{ask.question} [{ask.default}] " if at_terminal else "") or ask.default
        try:
            return ask.read(answer)
        except ValueError as wrong:
            if not at_terminal:
                raise BadInput(
                    Problem(f"answer to {ask.question!r}", *_parted(str(wrong)))
                ) from None
            aside(str(wrong))


def _parted(told: str) -> tuple[str, str]:
    """What was found, and what is wanted."""
    found, _, wanted = told.partition("; ")
    return found, wanted or "another answer"


def _line(prompt: str) -> str:
    """A line that was typed or piped in; nothing where there is no more."""
    if prompt:
        print(prompt, end="", file=sys.stderr, flush=True)
    if sys.stdin is None:
        return ""
    return sys.stdin.readline(LONGEST_ANSWER).strip()
