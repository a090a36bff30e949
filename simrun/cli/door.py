"""The door: words on the command line, no logic."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from simrun.answers.kind import Asked, Kind, Result
from simrun.answers.kinds import all_kinds
from simrun.base.errors import SimrunError
from simrun.cli.asking import put_questions
from simrun.cli.console import Listener, aside, complain, console_ready, shows_every_letter
from simrun.cli.parsing import EXIT_BAD_INPUT, asked_of, parser_of
from simrun.cli.progress import progress_of
from simrun.desk import KIND as DESK

TOO_LARGE = (
    "this needs more memory than the machine has left; fewer runners, a longer frame_s or a shorter limit "
    "under [clock], or fewer --workers need less"
)


def carry_out(words: Sequence[str] | None = None) -> int:
    """Carry out one command; returns the exit code."""
    with console_ready():
        kind, asked = asked_of(parser().parse_args(words))
        try:
            put_questions(kind, asked)
            with raced_by(vars(asked).get("behaviour")):
                tell(kind, asked)
            return 0
        except SimrunError as error:
            complain(str(error))
        except MemoryError:
            complain(TOO_LARGE)
        return EXIT_BAD_INPUT


def parser() -> argparse.ArgumentParser:
    """Every command and its words."""
    return parser_of(sorted((*all_kinds(), DESK), key=lambda kind: kind.place))


def tell(kind: Kind, asked: Asked) -> None:
    """Find the answers out, say them, write them down: also where nobody reads on, and what was found out is
    kept all the same."""
    quiet = asked.quiet or asked.json
    listener = Listener()
    with progress_of(kind.name, quiet) as told, first_use_told(kind.needs_engine and not quiet):
        results = kind.answer(asked, told)
    if not asked.json:
        many = len(results) > 1
        listener.hear("\n\n".join(said(result, asked.quiet, many) for result in results))
    with progress_of("files", quiet) as told:
        saved = [(result, result.save(None, told)) for result in results]
    if asked.json:
        from simrun.cli.json_frame import frame_text

        listener.hear(frame_text(kind.name, saved, ascii_only=not shows_every_letter()))
    elif not asked.quiet:
        listener.hear(written_words(saved))
    listener.check()
    for result in results:
        result.stay()


@contextmanager
def raced_by(words: str | None) -> Iterator[None]:
    """Every race day that is read within this block is raced by the behaviour of this dotted name. Raises
    BadInput."""
    if words is None:
        yield
        return
    from simrun.scenario.changes.changes_behaviour import every_day_read_with
    from simrun.tactics.own.given import behaviour_named, told_of

    with every_day_read_with(told_of(behaviour_named(words), words)):
        yield


def said(result: Result, quiet: bool, many: bool = False) -> str:
    """What a terminal shows of one answer, and who is left out of it; of many, each says what it is about."""
    told = result.sentence if quiet else result.text
    if many and result.subject not in told:
        told = f"{result.subject}: {told}" if quiet else f"{result.subject}\n{told}"
    return told if quiet else "\n\n".join(part for part in (told, result.missing) if part)


def written_words(saved: Sequence[tuple[Result, list[Path]]]) -> str:
    """The files by name, and what is to be said about them."""
    files = [str(path) for _, written in saved for path in written]
    lines = ["\nWritten: " + ", ".join(files)] if files else []
    return "\n".join([*lines, *(note for result, _ in saved for note in result.notes)])


FIRST_USE = "First use: preparing the engine; about 10 seconds, once."


@contextmanager
def first_use_told(wanted: bool) -> Iterator[None]:
    """Tell why the first race on a machine is slow, when the engine really is compiled, and only then."""
    if not wanted:
        yield
        return
    from simrun.base.code.compiling import watched

    with watched(lambda: aside(FIRST_USE)):
        yield
