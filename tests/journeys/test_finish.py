"""`simrun finish`: command in, table and ranges out; called again it only reads."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from simrun.cli import main

TOP = Path(__file__).parents[2]


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """The dual meet with a mark at its finish."""
    text = (TOP / "scenarios" / "dual_meet.toml").read_text("utf-8")
    text = text.replace('name = "quarter mile"\nat = "440 yd"', 'name = "finish"\nat = "FINISH m"')
    from simrun.scenario.reader import read

    length_m = read(TOP / "scenarios" / "dual_meet.toml").strip.length_m
    (tmp_path / "day.toml").write_text(text.replace("FINISH", f"{length_m:.2f}"), "utf-8")
    return tmp_path / "day.toml"


def test_the_command_writes_what_it_prints(
    day: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both teams with points and range; the same again out of the store."""
    words = ["finish", str(day), "--seeds", "3", "--workers", "1", "--out", str(tmp_path / "out")]
    assert main(words) == 0
    first = capsys.readouterr().out
    teams = pd.read_csv(tmp_path / "out" / "finish_teams.csv")
    assert set(teams["team"]) == {"Millbrook", "Thornwick"}
    assert (teams["points_low"] <= teams["points_mean"]).all()
    assert len(pd.read_csv(tmp_path / "out" / "finish_ours.csv")) == 10
    assert "Millbrook, in the order of finish" in first
    assert first.startswith("Millbrook places ")
    page = (tmp_path / "out" / "finish.html").read_text("utf-8")
    assert f"<h1>{first.splitlines()[0]}</h1>" in page
    assert "Millbrook, in the order of finish" in page
    assert page.count('<img alt="Points by team') == 1
    assert main(words) == 0
    assert capsys.readouterr().out == first


def test_json_holds_what_the_tables_hold(
    day: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The sentence, every team and our ten as records; a bad results file leaves nothing behind."""
    words = ["finish", str(day), "--seeds", "2", "--workers", "1", "--json"]
    assert main([*words, "--out", str(tmp_path / "out")]) == 0
    (told,) = json.loads(capsys.readouterr().out)["answers"]
    assert told["figures"] == {"races": 2}
    assert told["sentence"].startswith("Millbrook places ")
    assert {row["team"] for row in told["tables"]["finish_teams"]} == {"Millbrook", "Thornwick"}
    assert len(told["tables"]["finish_ours"]) == 10
    assert str(tmp_path / "out" / "finish.html") in told["written"]
    (tmp_path / "bad.csv").write_text("tme,team\n1:20,Elm\n", encoding="utf-8")
    bad = ["--results", str(tmp_path / "bad.csv"), "--out", str(tmp_path / "none")]
    assert main([*words, *bad]) == 2
    assert not (tmp_path / "none").exists()


def test_racing_is_told_where_everybody_races(
    day: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What it made of our times, what ours have left, and what an opening means; nothing with racing off."""
    text = day.read_text("utf-8").replace("[field]\n", '[field]\nracing = "on"\n')
    (tmp_path / "raced.toml").write_text(text, encoding="utf-8")
    words = ["--seeds", "3", "--workers", "1", "--out"]
    assert main(["finish", str(tmp_path / "raced.toml"), *words, str(tmp_path / "on")]) == 0
    said = capsys.readouterr().out
    ours = pd.read_csv(tmp_path / "on" / "finish_ours.csv")
    assert (ours["left_m_mean"] > 0.0).all()
    assert ours["racing_s_mean"].abs().max() > 0.0
    first = said.splitlines()[0]
    assert "Racing makes " in first
    if ours["racing_s_mean"].max() < 0.0:
        assert "slower" not in first
    assert "Racing is on: an opening is a split" in said
    assert "to the box, to traffic and to racing" in said
    assert "Racing is on" in (tmp_path / "on" / "finish.html").read_text("utf-8")
    assert main(["finish", str(day), *words, str(tmp_path / "off")]) == 0
    assert "acing" not in capsys.readouterr().out.partition("Written:")[0]
    assert "racing_s_mean" not in pd.read_csv(tmp_path / "off" / "finish_ours.csv")


@pytest.mark.slow
def test_a_race_page_ends_at_the_finish(
    day: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`simrun race` shows places and scores where the race is run to its finish, and only there."""
    assert main(["race", str(day), "--no-gif", "--out", str(tmp_path / "out")]) == 0
    assert "Team scores" in capsys.readouterr().out
    assert len(pd.read_csv(tmp_path / "out" / "finish.csv")) == 20
    ferry = TOP / "scenarios" / "ferry_meadow.toml"
    assert main(["race", str(ferry), "--no-gif", "--out", str(tmp_path / "ferry")]) == 0
    assert "Team scores" not in capsys.readouterr().out
    assert not (tmp_path / "ferry" / "finish.csv").exists()


def test_own_checkpoints_do_not_take_the_finish_away(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The dual meet as shipped ends its checkpoints at 402 m of 468.6 m; the finish is timed all the same."""
    words = ["--seeds", "2", "--workers", "1", "--out", str(tmp_path)]
    assert main(["finish", str(TOP / "scenarios" / "dual_meet.toml"), *words]) == 0
    told = capsys.readouterr().out
    assert "s lost by the quarter mile  s lost by the finish" in told
    assert len(pd.read_csv(tmp_path / "finish_ours.csv")) == 10
