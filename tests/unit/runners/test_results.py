"""Last year's results: times read as people write them, and held beside ours place by place."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.runners.results import parse_results, time_s
from simrun.scenario.reader import read

TOP = Path(__file__).parents[3]
LIST = "Place,Name,Team,Gate,Time\n1,Aro,Elm,0:30.5,1:20\n2,Bil,Ash,31,1:25.25\n,Cor,Ash,,DNF\n"


def test_times_and_splits() -> None:
    found = parse_results(LIST, "last.csv")
    assert found.time_s[:2].tolist() == [80.0, 85.25]
    assert math.isnan(found.time_s[2])
    assert list(found.splits) == ["Gate"]
    assert found.splits["Gate"][:2].tolist() == [30.5, 31.0]


@pytest.mark.parametrize(
    ("text", "expected"),
    [("18:20.5", 1100.5), ("0:18:20", 1100.0), ("92", 92.0), ("3:12,5", 192.5), ("61:00", 3660.0)],
)
def test_as_people_write_times(text: str, expected: float) -> None:
    assert time_s(text) == expected


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("name,team\nAro,Elm\n", "column time: missing"),
        ("tme,team\n1:20,Elm\n", 'call one column time: "tme"?'),
        ("time\n", "0 runners"),
        ("time\n1:75\n", "line 2, column time: '1:75'"),
        ("time,gate\n1:20,0:30\n1:25,quick\n", "line 3, column gate: 'quick'"),
    ],
)
def test_mistakes_are_told(text: str, told: str) -> None:
    with pytest.raises(BadInput) as wrong:
        parse_results(text, "last.csv")
    assert told in str(wrong.value)


def test_a_spreadsheet_that_took_minutes_for_hours() -> None:
    """By hand: 16:22 is 982 s, 3:12 is 192 s; 1:02:00 after 0:58:00 is an hour."""
    found = parse_results("name,1 km,time\nAro,3:12:00,16:22:00\nBil,3:15:00,5:30:00\n", "x.csv")
    assert found.time_s.tolist() == [982.0, 330.0]
    assert found.splits["1 km"].tolist() == [192.0, 195.0]
    hours = parse_results("name,time\nAro,0:58:00\nBil,1:02:00\n", "x.csv")
    assert hours.time_s.tolist() == [3480.0, 3720.0]


def test_digits_alone_are_asked_about_where_they_may_be_either() -> None:
    """1620 and 1702 may be 16:20 and 17:02 or seconds; with 1675 among them they are seconds."""
    text = "name,time\nAro,1620\nBil,1702.5\nCor,DNF\n"
    with pytest.raises(BadInput, match=r"line 2, column time: '1620' may be 16:20 or 27:00"):
        parse_results(text, "x.csv")
    for plain, first, second in (("minutes", 980.0, 1022.5), ("seconds", 1620.0, 1702.5)):
        found = parse_results(text, "x.csv", plain=plain)
        assert found.time_s[:2].tolist() == [first, second]
        assert math.isnan(found.time_s[2])
    assert parse_results(text + "Don,1675\n", "x.csv").time_s[0] == 1620.0
    assert parse_results("time\n16:20\n17:02\n", "x.csv", plain="minutes").time_s[0] == 980.0


def test_one_race_of_last_years_is_chosen() -> None:
    text = "name,time,race\nAro,16:22,Boys\nBil,19:00,Girls\nCor,NT,Girls\n"
    assert parse_results(text, "x.csv", ("girls",)).time_s[0] == 1140.0
    with pytest.raises(BadInput, match=r"2 races: 'Girls' \(2\), 'Boys' \(1\)"):
        parse_results(text, "x.csv")


@given(st.text(max_size=200))
def test_any_text_is_a_list_or_one_refusal(text: str) -> None:
    try:
        found = parse_results(text, "last.csv")
    except BadInput:
        return
    assert np.nanmax(found.time_s, initial=1.0) > 0


def test_the_command_says_which_column_fits_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Beside our races to the finish; a column of another name is said with the nearest of ours."""
    text = (TOP / "scenarios" / "dual_meet.toml").read_text("utf-8")
    marks = '[[course.checkpoints]]\nname = "finish"\nat = "%s"\n\n[[course.landmarks]]'
    length = read(TOP / "scenarios" / "dual_meet.toml").strip.length_m
    text = text.replace("[[course.landmarks]]", marks % f"{math.floor(100 * length) / 100} m", 1)
    (tmp_path / "day.toml").write_text(text, encoding="utf-8")
    (tmp_path / "last.csv").write_text(
        "mill corner,gatte,time\n0:55,0:30,1:50\n0:58,0:33,1:59\n", encoding="utf-8"
    )
    words = ["finish", str(tmp_path / "day.toml"), "--seeds", "2", "--workers", "1"]
    words += ["--results", str(tmp_path / "last.csv"), "--out", str(tmp_path)]
    assert main(words) == 0
    told = capsys.readouterr().out
    assert "Their race against ours" in told
    assert "'gatte' is not a mark on this course; did you mean 'gate'" in told
    assert (tmp_path / "finish_results.csv").exists()
    assert main([*words[:-4], "--results", str(tmp_path / "none.csv")]) == 2
