"""Progress where nobody sees a bar: a line every ten seconds, by a clock of our own."""

from __future__ import annotations

import io

import pytest

from simrun.cli import progress as told_by


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The seconds that have passed, in a list of one."""
    now = [100.0]
    monkeypatch.setattr(told_by.time, "monotonic", lambda: now[0])
    return now


def test_a_line_every_ten_seconds(clock: list[float], capsys: pytest.CaptureFixture[str]) -> None:
    """Told once a second for 45 s: four lines, each with what is left at the pace so far."""
    with told_by.progress_of("races", quiet=False) as told:
        for second in range(46):
            clock[0] = 100.0 + second
            told(second / 60)
    assert capsys.readouterr().err.splitlines() == [
        "races: 17 % done, about 50 s left",
        "races: 33 % done, about 40 s left",
        "races: 50 % done, about 30 s left",
        "races: 67 % done, about 20 s left",
    ]


def test_what_comes_before_the_first_share_is_no_pace(
    clock: list[float], capsys: pytest.CaptureFixture[str]
) -> None:
    """Ninety seconds of compiling, then a share a second: by hand 80 s are left after 20 of 100, not 440."""
    with told_by.progress_of("races", quiet=False) as told:
        clock[0] += 90
        told(0.0)
        clock[0] += 20
        told(0.2)
    assert capsys.readouterr().err == "races: 20 % done, about 80 s left\n"


def test_a_pace_is_watched_before_it_is_told(
    clock: list[float], capsys: pytest.CaptureFixture[str]
) -> None:
    """Twelve seconds of loading, then two shares within a blink: how long the rest takes nobody knows yet.
    Ten seconds later half is done, and another ten are left; nothing is said to be less than a second."""
    with told_by.progress_of("race", quiet=False) as told:
        clock[0] += 12
        told(0.0)
        clock[0] += 0.01
        told(0.15)
        clock[0] += 10
        told(0.5)
        clock[0] += 11
        told(0.99)
    assert capsys.readouterr().err.splitlines() == [
        "race: 15 % done",
        "race: 50 % done, about 10 s left",
        "race: 99 % done, about 1 s left",
    ]


def test_short_work_says_nothing(clock: list[float], capsys: pytest.CaptureFixture[str]) -> None:
    """Done within ten seconds, or not begun, or done."""
    with told_by.progress_of("races", quiet=False) as told:
        told(0.5)
        clock[0] += 9.9
        told(0.9)
        clock[0] += 10
        told(1.0)
        told(0.0)
    assert capsys.readouterr().err == ""


def test_quiet_is_quiet(clock: list[float], capsys: pytest.CaptureFixture[str]) -> None:
    with told_by.progress_of("races", quiet=True) as told:
        clock[0] += 60
        told(0.5)
    assert capsys.readouterr().err == ""


def test_a_terminal_sees_a_bar(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """And no lines beside it; nothing of it goes to standard output."""

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    screen = Terminal()
    monkeypatch.setattr("sys.stderr", screen)
    with told_by.progress_of("races", quiet=False) as told:
        told(0.25)
    assert "races" in screen.getvalue()
    assert "% done" not in screen.getvalue()
    assert capsys.readouterr().out == ""
