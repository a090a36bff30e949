"""The door: every command in, files out, one line and exit code 2 for a mistake."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import imageio.v3 as imageio
import pandas as pd
import pytest

from simrun.answers.kinds import all_kinds
from simrun.base.version import VERSION
from simrun.cli import main
from tests.helpers.doors import Door, code_of
from tests.helpers.scenario_text import SMALL

TOP = Path(__file__).parents[2]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")
SHIPPED = sorted((TOP / "scenarios").glob("*.toml"))

LOSS_COLUMNS = (
    "runner,team,box,row,line,checkpoint,field_s,alone_s,best_s,box_s,line_s,traffic_s,lost_s,"
    "place,places_lost,racing_s"
)


def test_race_writes_everything_it_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Tables, recording and picture stand in the folder; the page names our team."""
    assert main(["race", DUAL, "--out", str(tmp_path), "--to", "10"]) == 0
    page = capsys.readouterr().out
    assert "Millbrook" in page
    assert "Left out: falls" in page
    names = {path.name for path in tmp_path.iterdir()}
    tables = {"loss.csv", "boxes.csv", "lines.csv", "boxes_lines.csv"}
    assert names == tables | {"race.html", "recording.npz", "race.gif"}
    assert (tmp_path / "loss.csv").read_text().splitlines()[0] == LOSS_COLUMNS
    boxes = pd.read_csv(tmp_path / "boxes_lines.csv")
    assert {"box", "line", "checkpoint", "count", "lost_s_mean", "lost_s_p90"} <= set(boxes)
    frames = imageio.imread(tmp_path / "race.gif", index=None)
    assert frames.shape[1:3] == (450, 800)


def test_json_is_json_and_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Standard output parses as one value for every command."""
    out = ["--json", "--out", str(tmp_path)]
    assert main(["race", DUAL, "--no-gif", *out]) == 0
    (race,) = json.loads(capsys.readouterr().out)["answers"]
    assert list(race["tables"]) == ["loss", "boxes", "lines", "boxes_lines"]
    assert str(tmp_path / "recording.npz") in race["written"]
    assert main(["check", DUAL, "--json"]) == 0
    (check,) = json.loads(capsys.readouterr().out)["answers"]
    assert check["figures"]["length_m"] > 400
    assert [row["box"] for row in check["tables"]["boxes"]] == [1, 2, 3, 4]
    assert check["written"] == []
    replay = ["replay", str(tmp_path / "recording.npz"), "--to", "5", "--follow", "Thornwick"]
    assert main([*replay, *out]) == 0
    (shown,) = json.loads(capsys.readouterr().out)["answers"]
    assert shown["written"] == [str(tmp_path / "race.gif")]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["rase", DUAL], "did you mean 'race'"),
        (["race"], "file"),
        (["race", DUAL, "--seed", "-3"], "whole number"),
        (["race", DUAL, "--sead", "3"], "--sead"),
        ([], "COMMAND"),
    ],
)
def test_a_wrong_word_is_one_line(
    words: list[str], expected: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2, one line, no usage text and no traceback."""
    assert code_of(words) == 2
    error = capsys.readouterr().err
    assert expected in error
    assert error.count("\n") == 1


@pytest.mark.parametrize(
    "words",
    [
        ["check", DUAL, "--units", "imperial"],
        ["race", DUAL, "--to", "soon"],
        ["race", DUAL, "--seed", "1.5"],
        ["race", DUAL, "--out"],
        ["replay"],
        ["check"],
        ["chek", DUAL],
    ],
    ids=" ".join,
)
def test_every_wrong_word_leaves_with_2_and_one_line(
    words: list[str], tmp_path: Path, door: Door
) -> None:
    """Nothing on standard output, no traceback, nothing written."""
    done = door(*words, folder=tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith("simrun: ")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check", DUAL, "--units", "metrik"], "--units: 'metrik': unknown; one of metric, us"),
        (["race", DUAL, "--units", "page"], "--units: 'page': unknown; one of metric, us"),
        (["racce", DUAL], "did you mean 'race'"),
        (["check", DUAL, "--sead", "3"], "unrecognized arguments: --sead"),
    ],
)
def test_a_bad_choice_never_suggests_what_belongs_elsewhere(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Only the words of that option are offered, and only the options of that command."""
    with pytest.raises(SystemExit):
        main(words)
    error = capsys.readouterr().err
    assert said in error
    hint = error.partition("did you mean")[2]
    assert not any(word in hint for word in ("--seed", "--page", "boxes", "letter"))


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """`simrun --version`."""
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == 0
    assert capsys.readouterr().out == f"simrun {VERSION}\n"


def test_quiet_is_the_sentence_and_nothing_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line on standard output, none on standard error; the files are written all the same."""
    assert main(["race", DUAL, "--no-gif", "--quiet", "--out", str(tmp_path)]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert told.out.count("\n") == 1
    assert re.match(
        r"Millbrook lost \d+\.\d s on average by the quarter mile from box 2: ", told.out
    )
    assert (tmp_path / "recording.npz").exists()


def test_an_unknown_option_has_its_nearest_word(capsys: pytest.CaptureFixture[str]) -> None:
    """`--sead` was meant to be `--seed`, as `rase` was meant to be `race`."""
    with pytest.raises(SystemExit):
        main(["race", DUAL, "--sead", "3"])
    assert "did you mean '--seed'" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--help"], ["check", SHIPPED[-2]], ["chek"]])
def test_the_program_is_the_door(words: list[str], tmp_path: Path, door: Door) -> None:
    """A process of its own leaves with the same code, says the same words, and warns of nothing."""
    done = subprocess.run(
        [sys.executable, "-m", "simrun", *map(str, words)],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(TOP)},
    )
    here = door(*map(str, words), folder=tmp_path)
    found = (done.returncode, done.stdout, done.stderr)
    assert found == (here.returncode, here.stdout, here.stderr)


@pytest.mark.parametrize("words", [[], *([kind.name] for kind in all_kinds())], ids=str)
def test_every_command_explains_itself(words: list[str], tmp_path: Path, door: Door) -> None:
    """`--help` leaves with 0 and writes to standard output alone."""
    done = door(*words, "--help", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("usage: simrun")


@pytest.mark.parametrize("command", ["race", "check", "replay"])
@pytest.mark.parametrize("what", ["missing", "folder", "picture"])
def test_a_file_of_another_kind_is_one_line(
    command: str, what: str, tmp_path: Path, door: Door
) -> None:
    """Not there, a folder, bytes that are no text: exit code 2, named, nothing written."""
    there = tmp_path / "in"
    there.mkdir()
    if what == "folder":
        (there / "day").mkdir()
    if what == "picture":
        (there / "day").write_bytes(bytes(range(256)) * 8)
    out = tmp_path / "out"
    done = door(command, str(there / "day"), "--out", str(out), folder=there)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert str(there / "day") in done.stderr
    assert not out.exists()


def test_a_replay_of_a_scenario_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """A scenario is no recording."""
    assert main(["replay", DUAL]) == 2
    error = capsys.readouterr().err
    assert "not a recording" in error
    assert error.count("\n") == 1


@pytest.mark.parametrize(
    "wrong",
    [
        ["--speed", "0"],
        ["--speed", "nan"],
        ["--from", "9", "--to", "3"],
        ["--from", "301"],
        ["--follow", "X"],
        ["--inset", "Y"],
    ],
)
def test_a_wrong_view_leaves_no_trace(
    wrong: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Refused before the race is run: exit code 2 and an empty folder."""

    def nobody_runs(*_: Any, **__: Any) -> Any:
        raise AssertionError("the race was run first")

    monkeypatch.setattr("simrun.answers.race.run.run_one", nobody_runs)
    assert code_of(["race", DUAL, "--out", str(tmp_path), *wrong]) == 2
    assert list(tmp_path.iterdir()) == []


def test_a_picture_that_cannot_be_drawn_costs_no_race(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The clock allows second 299, but by then all are in: it is said, and the race is kept."""
    words = ["race", DUAL, "--out", str(tmp_path), "--from", "250", "--to", "299"]
    assert main(words) == 0
    told = capsys.readouterr().out
    assert "race.gif was not drawn: view.from_s: 250 s" in told
    names = {path.name for path in tmp_path.iterdir()}
    assert {"loss.csv", "recording.npz", "race.html"} <= names
    assert "race.gif" not in names


def test_a_race_stopped_at_its_picture_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C while drawing: exit code 130, and the tables, the page and the recording are whole."""

    def stopped(*_: Any, **__: Any) -> Any:
        raise KeyboardInterrupt

    monkeypatch.setattr("simrun.answers.race.result.write_films", stopped)
    assert main(["race", DUAL, "--out", str(tmp_path)]) == 130
    names = {path.name for path in tmp_path.iterdir()}
    assert {"loss.csv", "recording.npz", "race.html"} <= names
    assert not [name for name in names if name.startswith(".")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "empty"),
        ("name = [", "TOML"),
        (SMALL.replace("width = 30", "widht = 30", 1), "did you mean 'width'"),
        (SMALL.replace("boxes = ", "boxes = 999999999999 #", 1), "boxes"),
    ],
)
def test_a_bad_file_leaves_no_trace(
    text: str, expected: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2, the file named on every line, nothing written."""
    file = tmp_path / "bad.toml"
    file.write_text(text, encoding="utf-8")
    assert main(["race", str(file), "--out", str(tmp_path / "out")]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert expected in captured.err
    assert all("bad.toml" in line for line in captured.err.splitlines())
    assert not (tmp_path / "out").exists()


def test_a_bad_name_to_follow_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The nearest name is offered."""
    words = ["race", DUAL, "--out", str(tmp_path), "--to", "3", "--follow", "Milbrook"]
    assert main(words) == 2
    assert "did you mean 'Millbrook'" in capsys.readouterr().err


def test_an_unwritable_place_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file where the folder should be: refused, exit code 2."""
    (tmp_path / "taken").write_text("x")
    assert main(["race", DUAL, "--no-gif", "--out", str(tmp_path / "taken")]) == 2
    error = capsys.readouterr().err
    assert "cannot be written" in error
    assert error.count("\n") == 1


def test_help_needs_no_heavy_import() -> None:
    """`simrun --help` loads neither arrays nor compiler: it answers at once."""
    code = (
        "import sys; from simrun.cli.door import parser; parser().format_help(); "
        "heavy = {'numpy', 'numba', 'pandas', 'mesa', 'matplotlib', 'scipy', 'pydantic'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=TOP, env=os.environ
    )
    assert done.stdout.strip() == "[]", done.stderr


def test_boxes_and_evidence_explain_themselves_and_refuse_nonsense(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """No races, half a race, or a million: one line each."""
    for wrong in ("0", "1.5", "1000000"):
        with pytest.raises(SystemExit) as left:
            main(["boxes", DUAL, "--seeds", wrong])
        assert left.value.code == 2
        assert "whole number" in capsys.readouterr().err


@pytest.mark.slow
def test_boxes_writes_its_page_and_goes_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Three seeds, then five: the second call runs two more; the figures parse as JSON."""
    words = ["boxes", DUAL, "--out", str(tmp_path), "--workers", "1", "--json"]
    assert main([*words, "--seeds", "3"]) == 0
    assert main([*words, "--seeds", "5"]) == 0
    last = capsys.readouterr().out.splitlines()[-1]
    assert json.loads(last)["answers"][0]["figures"]["races"] == 5
    names = {path.name for path in tmp_path.iterdir()}
    assert {"boxes.html", "boxes.csv", "boxes.png", "boxes_map.png", "boxes_races.db"} <= names
    table = pd.read_csv(tmp_path / "boxes.csv")
    assert table[table["line"] == "all"]["seeds"].max() == 5
