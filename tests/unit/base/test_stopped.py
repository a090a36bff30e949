"""Stops: raised where the work is, put off where it must stay whole, never lost."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from simrun.base.stopped import SIGNALS, Stopped, in_one_piece, not_heard_by_children, stops_heeded

TOP = Path(__file__).parents[3]


def send(signum: int) -> None:
    os.kill(os.getpid(), signum)
    time.sleep(0.01)


@pytest.mark.parametrize("signum", SIGNALS)
def test_every_stop_is_raised_with_its_code(signum: int) -> None:
    before = signal.getsignal(signum)
    with pytest.raises(Stopped) as stop, stops_heeded():
        send(signum)
    assert stop.value.code == 128 + signum
    assert isinstance(stop.value, KeyboardInterrupt)
    assert signal.getsignal(signum) is before


def test_what_is_ignored_outside_stays_ignored() -> None:
    """As under nohup, or in the background of a shell."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with stops_heeded():
            send(signal.SIGHUP)
        assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)


def test_a_stop_waits_for_the_end_of_what_must_stay_whole() -> None:
    """Also of the outermost of several, and the second of two stops with it."""
    done: list[str] = []

    def work() -> None:
        with in_one_piece():
            with in_one_piece():
                send(signal.SIGTERM)
                send(signal.SIGINT)
                done.append("inner")
            done.append("outer")
        done.append("beyond")

    with pytest.raises(Stopped), stops_heeded():
        work()
    assert done == ["inner", "outer"]
    with stops_heeded(), in_one_piece():
        pass  # and nothing is left over


def test_a_mishap_in_what_must_stay_whole_is_told_where_nobody_stops() -> None:
    with pytest.raises(ZeroDivisionError), stops_heeded(), in_one_piece():
        raise ZeroDivisionError


def test_a_stop_that_python_swallows_comes_again() -> None:
    """Raised while an object is let go of, it would only be printed."""

    class Dying:
        def __del__(self) -> None:
            send(signal.SIGINT)

    def work() -> None:
        Dying()
        time.sleep(2)

    with pytest.raises(Stopped), stops_heeded():
        work()


def test_children_do_not_hear_ctrl_c() -> None:
    """From their first moment on, before they could say so themselves."""
    code = "import time; time.sleep(0.5); print('there')"
    with not_heard_by_children():
        child = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    child.send_signal(signal.SIGINT)
    assert child.communicate(timeout=20)[0] == "there\n"
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, ())
