"""How is anything said, whatever the console can show and whoever still listens?

Check: tests/journeys/test_console.py.
"""

from __future__ import annotations

import codecs
import os
import sys
import unicodedata
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

from simrun.base.errors import CannotWrite, Notice

PLAINER = "simrun_plainer"


def plainer(text: str) -> str:
    """The nearest plain letters: Łódź is Lodz; a question mark for a sign that has none."""
    return "".join(_plain_sign(sign) for sign in text)


def _plain_sign(sign: str) -> str:
    stroked = unicodedata.name(sign, "").partition(" WITH ")[0]
    with suppress(KeyError):
        sign = unicodedata.lookup(stroked)
    parts = unicodedata.normalize("NFKD", sign)
    return "".join(part for part in parts if part.isascii()) or "?"


def _as_plainer(wrong: UnicodeError) -> tuple[str, int]:
    if not isinstance(wrong, UnicodeEncodeError):
        raise wrong
    return plainer(wrong.object[wrong.start : wrong.end]), wrong.end


@contextmanager
def console_ready() -> Iterator[None]:
    """Within this block no letter is too much for the console, and a notice is one line on it."""
    codecs.register_error(PLAINER, _as_plainer)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a test's own may be a plain text in memory
            stream.reconfigure(errors=PLAINER)
    with warnings.catch_warnings():
        if (
            not sys.warnoptions
        ):  # what libraries warn of names our files, and is for who builds this
            warnings.simplefilter("ignore")
        warnings.simplefilter("always", Notice)
        shown, told = warnings.showwarning, set[str]()

        def show(message: Any, category: type[Warning], *more: Any, **named: Any) -> None:
            if not issubclass(category, Notice):
                shown(message, category, *more, **named)
            elif str(message) not in told:
                told.add(str(message))
                complain(str(message))

        warnings.showwarning = show
        yield


def complain(text: str) -> None:
    """One line on standard error that says who complains."""
    aside(f"simrun: {text}")


def aside(text: str) -> None:
    """Something on standard error, if anybody listens there."""
    with suppress(OSError):
        if sys.stderr is not None:
            print(text, file=sys.stderr, flush=True)


def shows_every_letter() -> bool:
    """Does standard output take any letter as it is?"""
    return "utf" in (getattr(sys.stdout, "encoding", None) or "utf").lower()


class Listener:
    """Whoever reads standard output; they may leave, or their disk may be full, and the work goes on."""

    def __init__(self) -> None:
        self.lost = ""

    def hear(self, text: str) -> None:
        """Say something, if they are still there."""
        if self.lost or sys.stdout is None:
            return
        try:
            print(text, flush=True)
        except BrokenPipeError:  # they have read enough, which is no mistake
            self.lost = "gone"
            _let_go()
        except OSError as refused:
            self.lost = refused.strerror or str(refused)
            _let_go()

    def check(self) -> None:
        """Raises CannotWrite where what was said could not be written."""
        if self.lost not in ("", "gone"):
            raise CannotWrite(f"standard output: cannot be written: {self.lost}")


def _let_go() -> None:
    """What is still to be written goes nowhere, so that Python does not complain of it at the end."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
