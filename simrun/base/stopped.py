"""How is a command stopped: by Ctrl-C, by a terminal that is closed, by the system? Always the same way.

A stop is raised in the main thread as `Stopped`, a KeyboardInterrupt, wherever the work just is; a block
that must not be left half-done puts it off to its end (`in_one_piece`). Where nobody heeds stops, as
in a script of somebody's own, Python's own KeyboardInterrupt is all there is, and nothing is put off.

Check: tests/unit/base/test_stopped.py, tests/journeys/test_stops.py.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

SIGNALS = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)
_HERE = threading.local()
"""Of every thread: what tells it that nobody wants its work any more, if anything."""

AGAIN_S = 0.02
"""Where Python swallows a stop, as it does while it lets go of an object, it is sent again so much later."""


class Stopped(KeyboardInterrupt):
    """Somebody wants the work to end. code: what the command leaves with."""

    def __init__(self, signum: int = signal.SIGINT) -> None:
        super().__init__(signum)
        self.signum, self.code = signum, 128 + signum


class _Put:
    """Is a stop put off just now, how deep, and which one waits?"""

    off = 0
    waiting: int | None = None


def _stop(signum: int, frame: FrameType | None) -> None:
    if _Put.off:
        _Put.waiting = signum
        return
    raise Stopped(signum)


@contextmanager
def stops_heeded() -> Iterator[None]:
    """Every stop within this block is raised as `Stopped`; one that is ignored outside stays ignored."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {each: signal.getsignal(each) for each in SIGNALS}
    unraisable = sys.unraisablehook
    try:
        sys.unraisablehook = _send_again
        for each, handler in before.items():
            if handler is not signal.SIG_IGN:
                signal.signal(each, _stop)
        yield
    finally:
        for each, handler in before.items():
            signal.signal(each, handler if handler is not None else signal.SIG_DFL)
        sys.unraisablehook = unraisable


def ignore_stops() -> None:
    """All is done, and the process ends by itself."""
    for each in SIGNALS:
        signal.signal(each, signal.SIG_IGN)


def _send_again(wrong: Any) -> None:
    if not isinstance(wrong.exc_value, Stopped):
        sys.__unraisablehook__(wrong)
        return
    sending = (os.getpid(), wrong.exc_value.signum)
    timer = threading.Timer(AGAIN_S, os.kill, sending)
    timer.daemon = True
    timer.start()


@contextmanager
def in_one_piece() -> Iterator[None]:
    """A stop that comes within this short block is raised at its end."""
    here = threading.current_thread() is threading.main_thread()
    _Put.off += here
    try:
        yield
    finally:
        _Put.off -= here
        waiting = _Put.waiting
        if here and not _Put.off and waiting is not None:
            _Put.waiting = None
            raise Stopped(waiting)


class GivenUp(Exception):
    """Nobody wants the work of this thread any more."""


def heeding(unwanted: threading.Event) -> None:
    """From here on this thread gives its work up once `unwanted` is set, see `go_on`."""
    _HERE.unwanted = unwanted


def go_on() -> None:
    """Called now and then by long work. Raises GivenUp where nobody wants it any more: a stop is raised in
    the main thread only."""
    unwanted = getattr(_HERE, "unwanted", None)
    if unwanted is not None and unwanted.is_set():
        raise GivenUp


@contextmanager
def not_heard_by_children() -> Iterator[None]:
    """Processes that are started within this block hear neither Ctrl-C nor the end of the terminal: they
    belong to a parent that does, and ends them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGHUP})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
