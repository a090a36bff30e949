"""`--json`: one frame for every command, for one file and for many, as the kept schema says."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from simrun.base.version import VERSION
from simrun.cli import main
from simrun.cli.json_frame import SCHEMA, Frame, schema_text
from tests.helpers.worlds import SHARP_TURN, scenario_of

TOP = Path(__file__).parents[2]
DUAL = TOP / "scenarios" / "dual_meet.toml"
KEPT = TOP / "shared" / "schema" / "answer.schema.json"
TRACK = """<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><rte><name>farm</name>
<rtept lat="-35.25" lon="-20.5"/><rtept lat="-35.25" lon="-20.498"/>
<rtept lat="-35.249" lon="-20.497"/></rte></gpx>
"""


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A recording and a track to ask about."""
    folder = tmp_path_factory.mktemp("json")
    assert main(["race", str(DUAL), "--no-gif", "--quiet", "--out", str(folder)]) == 0
    (folder / "farm.gpx").write_text(TRACK, encoding="utf-8")
    return folder


def frame_of(words: list[str], capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """What a command prints with `--json`: one line, nothing on standard error, and right by the model."""
    capsys.readouterr()
    assert main([*words, "--json"]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert told.out.count("\n") == 1
    frame: dict[str, Any] = json.loads(told.out, parse_constant=_no_number)
    Frame.model_validate(frame, strict=True)
    return frame


def _no_number(word: str) -> None:
    raise AssertionError(f"{word} is no JSON")


@pytest.mark.parametrize(
    ("words", "files"),
    [
        (["race", str(DUAL), "--no-gif"], 1),
        (["check", str(DUAL)], 1),
        (["check", str(DUAL), str(TOP / "scenarios" / "ferry_meadow.toml")], 2),
        (["replay", "recording.npz", "--from", "1", "--to", "2"], 1),
        (["course", "farm.gpx"], 1),
    ],
    ids=lambda value: " ".join(Path(w).stem for w in value) if isinstance(value, list) else "",
)
def test_every_command_has_the_same_frame(
    words: list[str],
    files: int,
    there: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Version, schema, command, units; an answer a file, whose sentence is that of the terminal."""
    monkeypatch.chdir(there)
    frame = frame_of([*words, "--out", str(tmp_path / "out")], capsys)
    assert (frame["simrun"], frame["schema"], frame["command"]) == (VERSION, SCHEMA, words[0])
    assert frame["units"] == {"length": "m", "time": "s", "speed": "m/s", "share": "of one"}
    assert len(frame["answers"]) == files
    for answer in frame["answers"]:
        assert answer["file"]
        assert all(Path(path).exists() for path in answer["written"])
    assert main([*words, "--quiet", "--out", str(tmp_path / "again")]) == 0
    said = capsys.readouterr().out.rstrip("\n").split("\n\n")
    assert len(said) == files
    for told, answer in zip(said, frame["answers"], strict=True):
        # Of several, each says first which race day it is about.
        about = f"{answer['subject']}: " if files > 1 else ""
        assert told == about + answer["sentence"]


def test_the_tables_are_those_of_the_csv_files(
    there: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A table a CSV, by the name of its file, with its columns."""
    words = ["race", str(DUAL), "--no-gif", "--out", str(tmp_path)]
    (answer,) = frame_of(words, capsys)["answers"]
    heads = {p.stem: p.read_text("utf-8").partition("\n")[0] for p in tmp_path.glob("*.csv")}
    assert {name: ",".join(rows[0]) for name, rows in answer["tables"].items()} == heads


def test_what_is_not_known_is_null(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody gets to the end within three seconds: null, and never a word that is no JSON."""
    text = SHARP_TURN.replace('limit = "', 'limit = "3 s" #', 1)
    assert text != SHARP_TURN
    scenario_of(text, tmp_path)
    words = ["race", next(map(str, tmp_path.glob("*.toml"))), "--no-gif", "--out", str(tmp_path)]
    (answer,) = frame_of(words, capsys)["answers"]
    assert {row["field_s"] for row in answer["tables"]["loss"]} == {None}
    assert answer["sentence"].startswith("Nobody from Alderbrook reached ")


def test_the_kept_schema_is_that_of_the_model() -> None:
    """Written anew by the command in its folder's README; another version of it is another number."""
    kept = json.loads(KEPT.read_text("utf-8"))
    assert kept == json.loads(schema_text())
    assert set(kept["required"]) == {"simrun", "schema", "command", "units", "answers"}
