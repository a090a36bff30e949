"""What a console cannot show, a disk that is full, a picture that fails: the race is kept, in plain lines."""

from __future__ import annotations

import io
import json
import subprocess
import sys
import warnings
from pathlib import Path
from typing import Any

import pytest

import simrun
from simrun.answers.race.result import RaceResult
from simrun.answers.race.run import run_race
from simrun.base.errors import notice
from simrun.cli import main
from simrun.cli.console import console_ready, plainer

TOP = Path(__file__).parents[2]
DUAL = TOP / "scenarios" / "dual_meet.toml"
KEPT = {"loss.csv", "recording.npz"}


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """A race day whose own team has letters that few consoles know."""
    path = tmp_path / "day.toml"
    text = DUAL.read_text("utf-8").replace('"Millbrook"', '"Łódź 走"')
    text = text.replace('name = "Mill Lane dual meet"', 'name = "Fête à Łódź 走"')
    path.write_text(text, encoding="utf-8")
    return path


def console(monkeypatch: pytest.MonkeyPatch, encoding: str) -> dict[str, io.BytesIO]:
    """Standard output and error of this encoding, as strict as they come."""
    written = {"stdout": io.BytesIO(), "stderr": io.BytesIO()}
    for name, stream in written.items():
        monkeypatch.setattr(sys, name, io.TextIOWrapper(stream, encoding=encoding))
    return written


@pytest.mark.parametrize(
    ("encoding", "name"),
    [
        ("cp1252", "Lódz ?"),
        pytest.param("ascii", "Lodz ?", marks=pytest.mark.slow),
        pytest.param("utf-8", "Łódź 走", marks=pytest.mark.slow),
    ],
)
def test_a_name_that_the_console_cannot_show_costs_no_race(
    day: Path, monkeypatch: pytest.MonkeyPatch, encoding: str, name: str
) -> None:
    """The nearest letters stand in its place; files have the name as it is."""
    written = console(monkeypatch, encoding)
    words = ["race", str(day), "--no-gif", "--quiet", "--out", str(day.parent / "out")]
    assert main(words) == 0
    assert written["stdout"].getvalue().decode(encoding).startswith(f"{name} lost ")
    assert {path.name for path in (day.parent / "out").iterdir()} >= KEPT
    assert "Łódź 走" in (day.parent / "out" / "loss.csv").read_text("utf-8")


def test_json_keeps_every_letter_on_any_console(day: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written = console(monkeypatch, "cp1252")
    assert main(["check", str(day), "--json"]) == 0
    assert written["stdout"].getvalue().isascii()
    assert json.loads(written["stdout"].getvalue())["answers"][0]["subject"] == "Fête à Łódź 走"


def test_a_refusal_with_strange_letters_is_one_line(
    day: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = console(monkeypatch, "ascii")
    assert main(["race", str(day), "--follow", "Łodz"]) == 2
    told = written["stderr"].getvalue().decode("ascii")
    assert told.count("\n") == 1
    assert "Lodz" in told


def test_plainer_letters() -> None:
    assert plainer("Łódź Åsa Đỗ ﬁn…") == "Lodz Asa Do fin..."


@pytest.mark.slow
def test_a_full_disk_behind_standard_output_costs_no_file(day: Path) -> None:
    """What was to be said could not be: exit code 2 and one line, and every file is there."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no full device")
    out = day.parent / "out"
    words = [sys.executable, "-m", "simrun", "race", str(day), "--no-gif", "--out", str(out)]
    with open("/dev/full", "w") as full:
        done = subprocess.run(words, cwd=TOP, stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 2
    assert done.stderr == "simrun: standard output: cannot be written: No space left on device\n"
    assert {path.name for path in out.iterdir()} >= KEPT


@pytest.fixture(scope="module")
def raced(tmp_path_factory: pytest.TempPathFactory) -> RaceResult:
    """A race with everything that is drawn of it, not saved yet."""
    return run_race(simrun.read(DUAL), tmp_path_factory.mktemp("raced"), page=True)


DRAWN = {"loss_chart": "race.html", "write_replay": "replay.html", "write_films": "race.gif"}


@pytest.mark.parametrize("part", DRAWN)
@pytest.mark.parametrize(
    "mishap", [ZeroDivisionError("of a\npicture"), MemoryError(), OSError(28, "full")]
)
def test_whatever_a_picture_does_the_race_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, raced: RaceResult, part: str, mishap: Exception
) -> None:
    """What could not be drawn is named with its reason; all else is there."""

    def broken(*_: Any, **__: Any) -> Any:
        raise mishap

    drawn: dict[str, Any] = {
        "loss_chart": b"",
        "write_replay": tmp_path / "x",
        "write_films": ([], []),
    }
    for each, made in (drawn | {part: None}).items():
        how = broken if each == part else lambda *_, made=made, **__: made
        monkeypatch.setattr(f"simrun.answers.race.result.{each}", how)
    written = raced.save(tmp_path)
    (told,) = raced.notes
    assert told.startswith(f"{DRAWN[part]} was not drawn: {type(mishap).__name__}")
    assert told.isprintable()
    assert {path.name for path in tmp_path.iterdir()} >= KEPT
    assert DRAWN[part] not in {path.name for path in written}
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_notice_is_one_line_and_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    """What libraries warn of, with the names of our files, is not for who runs a race."""
    with console_ready():
        for _ in range(3):
            notice("the cache is full")
        warnings.warn("an array of ours", RuntimeWarning, stacklevel=1)
    assert capsys.readouterr().err == "simrun: the cache is full\n"
