"""The door: words on the command line, no logic."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from simrun.answers.kind import Asked, Kind, Result
from simrun.answers.kinds import all_kinds
from simrun.base.errors import SimrunError
from simrun.cli.asking import put_questions
from simrun.cli.parsing import EXIT_BAD_INPUT, asked_of, parser_of
from simrun.cli.progress import progress_of
from simrun.desk import KIND as DESK

EXIT_STOPPED = 130


def main(words: Sequence[str] | None = None) -> int:
    """Carry out one command; returns the exit code."""
    kind, asked = asked_of(parser().parse_args(words))
    try:
        put_questions(kind, asked)
        tell(kind, asked)
        return 0
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
    return parser_of(sorted((*all_kinds(), DESK), key=lambda kind: kind.place))


def tell(kind: Kind, asked: Asked) -> None:
    """Find the answers out, say them, write them down."""
    quiet = asked.quiet or asked.json
    with progress_of(kind.name, quiet) as told, first_use_told(kind.needs_engine and not quiet):
        results = kind.answer(asked, told)
    if not asked.json:
        with suppress(BrokenPipeError):  # nobody reads on: what was found out is kept all the same
            print("\n\n".join(said(result, asked.quiet) for result in results), flush=True)
    with progress_of("files", quiet) as told:
        saved = [(result, result.save(None, told)) for result in results]
    if asked.json:
        from simrun.cli.json_frame import frame_text

        print(frame_text(kind.name, saved), flush=True)
    elif not asked.quiet:
        say_written(saved)
    for result in results:
        result.stay()


def said(result: Result, quiet: bool) -> str:
    """What a terminal shows of one answer, and who is left out of it."""
    if quiet:
        return result.sentence
    return "\n\n".join(part for part in (result.text, result.missing) if part)


def say_written(saved: Sequence[tuple[Result, list[Path]]]) -> None:
    """The files by name, and what is to be said about them."""
    files = [str(path) for _, written in saved for path in written]
    if files:
        print("\nWritten: " + ", ".join(files))
    for result, _ in saved:
        for note in result.notes:
            print(note)


FIRST_USE = "First use: preparing the engine; about 15 seconds, once."


@contextmanager
def first_use_told(wanted: bool) -> Iterator[None]:
    """Tell why the first race on a machine is slow, when the engine really is compiled, and only then."""
    if not wanted:
        yield
        return
    from simrun.base.compiled import watched

    with watched(lambda: print(FIRST_USE, file=sys.stderr)):
        yield
