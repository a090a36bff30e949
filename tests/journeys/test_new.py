"""Ten questions make a scenario: answered at a terminal, piped in, settled by options, or left as they
are."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

import simrun
from simrun.answers.new.asks import DEFAULT, READ
from simrun.answers.new.words import ASKED
from simrun.cli import main

TOP = Path(__file__).parents[2]
ENTRIES = str(TOP / "scenarios" / "brindle_fen_entries.csv")
BOXES = str(TOP / "scenarios" / "brindle_fen_boxes.csv")


class Terminal(io.StringIO):
    """Answers typed by somebody."""

    def isatty(self) -> bool:
        return True


def new(monkeypatch: pytest.MonkeyPatch, answers: str, *words: str, typed: bool = False) -> int:
    monkeypatch.setattr("sys.stdin", Terminal(answers) if typed else io.StringIO(answers))
    return main(["new", *words])


def test_there_are_ten_questions_each_with_a_default() -> None:
    assert len(READ) == len(ASKED) == len(DEFAULT) == 10
    assert list(READ) == list(ASKED)
    for key, default in DEFAULT.items():
        READ[key](default)


def test_no_answer_at_all_gives_a_race_day_that_check_accepts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "day.toml"
    assert new(monkeypatch, "", str(file)) == 0
    assert capsys.readouterr().err == ""
    day = simrun.read(file)
    assert (day.name, day.start.boxes, day.start.width_m) == ("Our race", 20, 60)
    assert day.strip.length_m == pytest.approx(5000, abs=0.1)
    assert main(["check", str(file), "--quiet"]) == 0


def test_answers_are_typed_and_a_wrong_one_is_asked_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "day.toml"
    typed = "Fen mile\nus\nwide\n80 yd\n24\n\n300 yd\n\n1 mi\nEllerfold\n7\n"
    assert new(monkeypatch, typed, str(file), typed=True) == 0
    asked = capsys.readouterr().err
    assert asked.count("How wide is the start line? [66 yd]") == 2
    assert "'wide'; a number of metres" in asked
    day = simrun.read(file)
    assert (day.name, day.units, day.start.boxes) == ("Fen mile", "us", 24)
    assert day.start.width_m == pytest.approx(80 * 0.9144)
    (ours,) = [team for team in day.teams if team.ours]
    assert (ours.name, ours.box) == ("Ellerfold", 7)
    assert 'width = "80 yd"' in file.read_text("utf-8")


def test_piped_in_a_wrong_answer_is_one_line_and_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert new(monkeypatch, "Fen\nmetric\n60 m\nmany\n", str(tmp_path / "day.toml")) == 2
    assert capsys.readouterr().err == (
        "simrun: answer to 'How many boxes does it have?': 'many'; a whole number from 0 is needed\n"
    )
    assert list(tmp_path.iterdir()) == []


def test_lists_are_brought_along_and_say_whose_box_is_whose(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--name", "Fen", "--entries", ENTRIES, "--box-sheet", BOXES, "--out", str(tmp_path)]
    assert new(monkeypatch, "", *words) == 2
    assert "--team: which team is ours is not said; one of" in capsys.readouterr().err
    assert new(monkeypatch, "", *words, "--team", "ellerfold") == 0
    day = simrun.read(tmp_path / "fen.toml")
    (ours,) = [team for team in day.teams if team.ours]
    assert ours.name == "Ellerfold"
    assert ours.box == simrun.read(TOP / "scenarios" / "brindle_fen.toml").teams[0].box
    capsys.readouterr()
    assert new(monkeypatch, "", *words[2:], "--name", "Two", "--team", "Elerfold") == 2
    assert "did you mean 'Ellerfold'?" in capsys.readouterr().err


def test_nothing_is_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "day.toml"
    file.write_text("mine", encoding="utf-8")
    assert new(monkeypatch, "", str(file)) == 2
    assert "exists already" in capsys.readouterr().err
    assert file.read_text("utf-8") == "mine"
    (tmp_path / Path(ENTRIES).name).write_text("another list", encoding="utf-8")
    words = ["--entries", ENTRIES, "--team", "Ellerfold"]
    assert new(monkeypatch, "", str(tmp_path / "two.toml"), *words) == 2
    assert "exists already, and is another" in capsys.readouterr().err
    assert not (tmp_path / "two.toml").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["day.txt"], "did you mean 'day.toml'?"),
        (["--length", "200 m"], "at least 50 m more"),
        (["--box", "30"], "one of the 20 boxes"),
        (["--width", "900 m"], "0.6 to 300 m"),
        (["--start-width", "wide"], "a number of metres"),
    ],
)
def test_bad_input_is_one_line(
    words: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    try:
        code = new(monkeypatch, "", *words)
    except SystemExit as left:
        code = int(left.code or 0)
    told = capsys.readouterr().err
    assert code == 2
    assert said in told
    assert told.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
