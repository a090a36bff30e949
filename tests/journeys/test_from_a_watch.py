"""From a track, an entry list and a box sheet to a race, without a hand in the scenario."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import simrun
from simrun.answers.course.new_course import UNKNOWN, AskedCourse, new_course
from simrun.answers.course.questions import Told
from simrun.answers.course.words import turns_words
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.scenario.scenario import Scenario
from tests.helpers.watch_tracks import track_along, walk_of

TOP = Path(__file__).parents[2]
ENTRIES = TOP / "scenarios" / "brindle_fen_entries.csv"
BOXES = TOP / "scenarios" / "brindle_fen_boxes.csv"
LISTS = ["--entries", str(ENTRIES), "--box-sheet", str(BOXES), "--team", "Ellerfold"]

LAP = np.array([[0.0, 0.0], [170.0, 0.0], [170.0, 110.0], [20.0, 130.0]])
TWO_LAPS = np.vstack([[[-150.0, 0.0]], LAP[1:], LAP, LAP[:2], [[170.0, 80.0]]])


def track(folder: Path) -> str:
    (folder / "fen.gpx").write_text(track_along(TWO_LAPS, (3.0, 20.0)), encoding="utf-8")
    return str(folder / "fen.gpx")


def filled_in(questions: Path, answers: dict[str, str]) -> Path:
    """The same list with answers in its last column, as a spreadsheet would save it."""
    with questions.open(encoding="utf-8", newline="") as rows:
        table = list(csv.DictReader(rows))
    for row in table:
        row["answer"] = answers.get(row["ask"], row["answer"])
    path = questions.with_name("answered.csv")
    pd.DataFrame(table).to_csv(path, index=False)
    return path


def test_from_a_track_and_two_lists_to_a_race_day(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new"
    make = ["course", track(tmp_path), *LISTS, "--out", str(out)]
    assert main([*make, "--start-width", "36 m", "--json"]) == 0
    names = {"fen.toml", "fen_questions.csv", "fen.png", ENTRIES.name, BOXES.name}
    assert {path.name for path in out.iterdir()} == names

    told = {"boxes": "14", "width of a box": "2.5 m", "front row": "3", "width of stretch 2": "4 m"}
    answers = filled_in(out / "fen_questions.csv", {"width of the line": "35 m", **told})
    capsys.readouterr()
    assert main([*make, "--answers", str(answers), "--quiet"]) == 0
    day = simrun.read(out / "fen.toml")
    assert (day.start.boxes, day.start.front_row, day.start.width_m) == (14, 3, 35)
    assert day.strip.width_m.min() == pytest.approx(4, abs=0.01)
    (ours,) = [team for team in day.teams if team.ours]
    assert (ours.name, ours.box) == ("Ellerfold", 11)
    assert main(["check", str(out / "fen.toml"), "--quiet"]) == 0


@pytest.mark.slow
def test_on_to_what_the_start_and_the_box_cost_us(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The race, and what a box costs, of a scenario that no hand has touched."""
    out = tmp_path / "new"
    assert main(["course", track(tmp_path), *LISTS, "--out", str(out), "--quiet"]) == 0
    capsys.readouterr()
    file = str(out / "fen.toml")
    assert main(["race", file, "--no-gif", "--out", str(tmp_path / "race")]) == 0
    assert "Ellerfold" in capsys.readouterr().out
    lost = pd.read_csv(tmp_path / "race" / "loss.csv")
    assert set(lost["checkpoint"]) >= {"first narrowing", "finish"}
    assert lost[lost["checkpoint"] == "first narrowing"]["field_s"].notna().all()
    words = ["--seeds", "2", "--until", "150", "--workers", "1", "--out", str(tmp_path / "boxes")]
    assert main(["boxes", file, *words]) == 0
    assert "first narrowing" in capsys.readouterr().out


@pytest.mark.slow
def test_on_to_the_sheet_for_the_clipboard(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A watch that errs by 1 m, two laps, a hairpin, a line of 77 m: questions answered, checked, the
    sheet of all seven by the entry list's names. tests/speed/bench_journey.py measures how long that takes.
    """
    walk, out = walk_of(621), tmp_path / "new"
    assert walk.laps == 2
    assert walk.hairpin
    (tmp_path / "day.gpx").write_text(walk.gpx, encoding="utf-8")
    make = ["course", str(tmp_path / "day.gpx"), *LISTS, "--out", str(out), "--quiet"]
    assert main([*make, "--start-width", f"{walk.line_m:.0f} m"]) == 0
    told = filled_in(out / "day_questions.csv", {"width of stretch 2": "5 m", "front row": "3"})
    assert main([*make, "--answers", str(told)]) == 0
    assert main(["check", str(out / "day.toml"), "--quiet"]) == 0
    capsys.readouterr()
    words = ["--seeds", "2", "--workers", "2", "--out", str(tmp_path / "sheet")]
    assert main(["sheet", str(out / "day.toml"), *words]) == 0
    assert capsys.readouterr().out.startswith("Box 11: ")
    marks = pd.read_csv(tmp_path / "sheet" / "sheet.csv")
    ours = list(dict.fromkeys(name for name in marks["runner"] if isinstance(name, str)))
    entered = pd.read_csv(ENTRIES)
    names = entered[entered["School"] == "Ellerfold"]["Name"]
    assert set(ours) <= set(names)
    assert len(ours) == 7
    for name in ("sheet_a4.pdf", "sheet_letter.pdf"):
        assert (tmp_path / "sheet" / name).read_bytes().startswith(b"%PDF")
    phone = (tmp_path / "sheet" / "sheet.html").read_text("utf-8")
    assert all(name in phone for name in ours)


def test_a_scenario_somebody_changed_is_never_made_anew(tmp_path: Path) -> None:
    source, file = track(tmp_path), tmp_path / "new" / "fen.toml"

    def make(told: Told = UNKNOWN, anew: bool = True) -> Scenario:
        return new_course(source, tmp_path / "new", AskedCourse(told=told, anew=anew)).scenario

    make(anew=False)
    answered = Told({}, {"boxes": "9"})
    assert make(answered).start.boxes == simrun.read(file).start.boxes == 9
    changed = file.read_text("utf-8").replace("boxes = 9", "boxes = 8")
    file.write_text(changed, encoding="utf-8")
    for anew, said in ((True, "was changed by hand"), (False, "nothing is overwritten")):
        with pytest.raises(BadInput, match=said):
            make(answered, anew)
    assert file.read_text("utf-8") == changed


def test_every_stretch_is_asked_for_with_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nine turns in two laps and a bit of a third, on the ground of four: each stretch is asked for once."""
    assert main(["course", track(tmp_path), "--out", str(tmp_path / "new")]) == 0
    page = capsys.readouterr().out
    assert "9 turns, all to the left; a lap of" in page
    assert "is run twice" in page
    with (tmp_path / "new" / "fen_questions.csv").open(encoding="utf-8") as rows:
        asked = list(csv.DictReader(rows))
    stretches = [row for row in asked if row["ask"].startswith("width of stretch")]
    assert len(stretches) == 4
    assert stretches[0]["at"].startswith("0 m to ")
    assert all(float(row["latitude"]) == pytest.approx(-35, abs=0.01) for row in asked)
    assert [row["answer"] for row in asked] == [""] * len(asked)


@pytest.mark.parametrize(
    ("left", "right", "words"),
    [
        (0, 0, "No turns"),
        (0, 1, "1 turn, to the right"),
        (3, 0, "3 turns, all to the left"),
        (2, 1, "3 turns, 2 to the left and 1 to the right"),
    ],
)
def test_turns_are_told_as_they_are(left: int, right: int, words: str) -> None:
    assert turns_words(left, right) == words


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        (
            "ask,answer\nwidth of the line,wide\n",
            "line 2, width of the line: 'wide'; a number of metres",
        ),
        ("ask,answer\nwidth of the lane,6 m\n", "did you mean 'width of the line'?"),
        ("ask,answer\nwidth of stretch 40,6 m\n", "stretch 40; stretches 1 to 4"),
        ("ask,answer\nboxes,9\nboxes,10\n", "asked twice"),
        ("ask,answer\nboxes,0\n", "a whole number from 1 to 100"),
        ("what,width\n", "the columns ask and answer"),
        ("", "the columns ask and answer"),
    ],
)
def test_wrong_answers_are_one_line_and_nothing_is_written(
    answers: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "answers.csv").write_text(answers, encoding="utf-8")
    words = ["--answers", str(tmp_path / "answers.csv"), "--out", str(tmp_path / "new")]
    assert main(["course", track(tmp_path), *words]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert told.count("\n") == 1
    assert not (tmp_path / "new" / "fen.toml").exists()


def test_a_line_drawn_over_its_own_ground_has_laps_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same two laps drawn on a map, without times: no longer refused, and the lap is found."""
    points = "".join(
        f'<rtept lat="{-35 + y / 111_000:.7f}" lon="{-20.5 + x / 91_000:.7f}"/>'
        for x, y in TWO_LAPS
    )
    (tmp_path / "map.gpx").write_text(f"<gpx><rte>{points}</rte></gpx>", encoding="utf-8")
    assert main(["course", str(tmp_path / "map.gpx"), "--out", str(tmp_path / "new")]) == 0
    assert "a lap of" in capsys.readouterr().out
    drawn = np.hypot(*np.diff(TWO_LAPS, axis=0).T).sum()
    strip = simrun.read(tmp_path / "new" / "map.toml").strip
    first = int(np.abs(strip.station_m).argmin())
    middle = strip.middle_m[first : strip.finish_cut + 1]
    assert np.hypot(*np.diff(middle, axis=0).T).sum() == pytest.approx(drawn, rel=0.03)
