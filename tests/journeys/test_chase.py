"""`simrun chase`: command in, tables and page out; called again it only reads; mistakes are one line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from simrun.cli import main
from simrun.scenario.changes.changes_course import with_time_limit
from simrun.scenario.reader import read
from simrun.trials.plan import Plan
from simrun.trials.run_back import run_back_plan, timed

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN, DUAL = (str(SCENARIOS / f"{name}.toml") for name in ("brindle_fen", "dual_meet"))
ONE = ["--workers", "1"]


@pytest.mark.slow
def test_the_papers_as_they_come(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An entry list and a box sheet: sentence, tables, page; the same again out of the store."""
    words = ["chase", FEN, "--lost", "8", "--in-hand", "20", "--seeds", "1", *ONE]
    assert main([*words, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Of 8 s lost at the start Ellerfold runs back ")
    assert "Everybody races for places here, though the scenario leaves racing off." in said
    assert "Racing is on: an opening is a split" in said
    table = pd.read_csv(tmp_path / "chase.csv")
    assert list(table["way"]) == ["by plan", "at once", "evenly", "late", "for places"]
    assert (table["races"] == 1).all()
    # An even chase leaves less at the finish than none: the same people in the same races.
    left = table.set_index("way")["finish_s_mean"]
    assert left["evenly"] < left["by plan"] - 1.0
    assert {"places_mean", "points_mean", "left_m_mean"} <= set(table)
    kick = pd.read_csv(tmp_path / "chase_kick.csv")
    assert list(kick["to_go_m"]) == [200.0] * 2
    page = (tmp_path / "chase.html").read_text("utf-8")
    assert f"<h1>{said.splitlines()[0]}</h1>" in page
    assert page.count("<img alt=") == 1
    assert "What a kick brings, in places" in page
    assert len(pd.read_csv(tmp_path / "chase_races.csv")) == 5
    assert main([*words, "--out", str(tmp_path)]) == 0
    assert capsys.readouterr().out == said


def test_a_race_for_places_of_an_entry_list_tells_openings_and_what_is_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The papers as they come with one line more, `racing = "on"`, to the hedge gap."""
    for path in (*SCENARIOS.glob("brindle_fen*.toml"), *SCENARIOS.glob("brindle_fen*.csv")):
        text = path.read_text("utf-8").replace("[field]\n", '[field]\nracing = "on"\n')
        (tmp_path / path.name).write_text(text.replace('"8 min"', '"50 s"'), encoding="utf-8")
    words = ["race", str(tmp_path / "brindle_fen.toml"), "--no-gif", "--out", str(tmp_path / "out")]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "Racing is on: an opening is a split" in said
    opened = pd.read_csv(tmp_path / "out" / "openings.csv").query("team == 'Ellerfold'")
    low, high = opened["told_s"].min(), opened["told_s"].max()
    assert f"Ellerfold was told {low:.1f} to {high:.1f} s from the gun to 150 m" in said
    left = pd.read_csv(tmp_path / "out" / "left.csv").query("checkpoint == 'hedge gap'")
    assert left["left_m"].notna().all()
    assert "Ellerfold: metres left at each checkpoint (alone)" in said
    assert "front_adds_s" in pd.read_csv(tmp_path / "out" / "loss.csv")


def test_the_placebo_prints_nothing_run_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Late by nothing, in JSON too: every figure is nought."""
    words = ["chase", DUAL, "--lost", "0", "--in-hand", "20", "--seeds", "2", *ONE, "--json"]
    assert main([*words, "--out", str(tmp_path)]) == 0
    (found,) = json.loads(capsys.readouterr().out)["answers"]
    assert "nothing to run back" in found["sentence"]
    for row in found["tables"]["chase"]:
        for name in ("start_s", "finish_s", "back_s", "places", "points"):
            assert row[f"{name}_mean"] == 0.0


@pytest.mark.parametrize("drawn", [True, False])
def test_every_arm_draws_the_inputs_or_none_does(
    drawn: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which races are asked for: held fixed they are those of the day as it is read, to the last digest."""
    asked: list[Plan] = []

    def listen(plan: Plan, store: Path, **how: Any) -> Path:
        asked.append(plan)
        raise InterruptedError

    monkeypatch.setattr("simrun.answers.chase.run.carry_out", listen)
    words = ["--lost", "5", "--in-hand", "20", "--seeds", "2", *ONE, "--out", str(tmp_path)]
    with pytest.raises(InterruptedError):
        main(["chase", DUAL, *words, *([] if drawn else ["--inputs", "fixed"])])
    day = read(Path(DUAL))
    there, _ = timed(with_time_limit(day, day.clock.limit_s + 5.0))
    plain = run_back_plan(there, str(day.our_team), (5.0,), (20.0,), (1, 2))
    assert [arm.inputs.drawn for arm in asked[0].arms.values()] == [drawn] * len(plain.arms)
    assert (asked[0].digests == plain.digests) is not drawn


@pytest.mark.slow
def test_the_same_people_meet_other_races_where_inputs_are_drawn(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Drawn, every race is another one; held fixed, every range is chance alone."""
    words = ["chase", DUAL, "--lost", "5", "--in-hand", "20", "--seeds", "2", *ONE]
    races = {}
    for how in ("drawn", "fixed"):
        assert main([*words, "--inputs", how, "--out", str(tmp_path / how)]) == 0
        covers = "chance and what nobody has measured" if how == "drawn" else "chance alone"
        assert f"over {covers}" in capsys.readouterr().out
        races[how] = pd.read_csv(tmp_path / how / "chase_races.csv")
    keys = ["seed", "in_hand_m", "way", "delay_s"]
    assert races["drawn"][keys].equals(races["fixed"][keys])
    assert (races["drawn"]["finish_s"] != races["fixed"]["finish_s"]).all()
    table = pd.read_csv(tmp_path / "fixed" / "chase.csv")
    chance = [name for name in table if "_chance_" in name]
    assert len(chance) == 10
    for name in chance:
        assert table[name].equals(table[name.replace("_chance", "")]), name


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--lost", "-3"], "--lost: -3 s; from 0 to 300 s"),
        (["--in-hand", "900"], "in_hand"),
    ],
)
def test_a_mistake_is_one_line_and_leaves_nothing_behind(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Found before a race is run."""
    out = tmp_path / "out"
    assert main(["chase", DUAL, *words, "--seeds", "2", *ONE, "--out", str(out)]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert not out.exists()


def test_without_a_team_of_ours_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody to be late."""
    text = Path(DUAL).read_text("utf-8").replace("ours = true\n", "")
    (tmp_path / "day.toml").write_text(text, encoding="utf-8")
    assert main(["chase", str(tmp_path / "day.toml"), *ONE, "--out", str(tmp_path / "out")]) == 2
    assert "ours = true" in capsys.readouterr().err
