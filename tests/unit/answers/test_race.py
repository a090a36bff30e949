"""One race told: the sentence by hand, the chart by the pixel, and links that lead to their moments."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from PIL import Image

import simrun
from simrun.answers.race.charts import INKS, loss_chart
from simrun.answers.race.race_tables import race_tables
from simrun.answers.race.result import RaceResult
from simrun.answers.race.run import run_race
from simrun.answers.race.words import Told, moments_of, sentence_of
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.pictures.ink.colours import INKS as COLOURS
from simrun.pictures.ink.view import View
from simrun.state.recording import Recording

TOP = Path(__file__).parents[3]


@pytest.fixture(scope="module")
def dual() -> Recording:
    return simrun.race(simrun.read(TOP / "scenarios" / "dual_meet.toml"), seed=1)


def told(recording: Recording, loss: pd.DataFrame | None = None) -> Told:
    tables = race_tables(recording)
    return Told(recording, tables | ({} if loss is None else {"loss": loss}), "us")


def changed(recording: Recording, **columns: list[float]) -> pd.DataFrame:
    """The loss of our ten at the last mark, as it is given here."""
    loss = race_tables(recording)["loss"]
    here = (loss["team"] == "Millbrook") & (loss["checkpoint"] == "quarter mile")
    loss.loc[here, list(columns)] = np.array(list(columns.values())).T
    return loss


def test_the_sentence_is_the_sum_of_its_parts(dual: Recording) -> None:
    """Ten runners by hand: 21.4 s of which 0.3 to the box, 1.5 to the line, 19.6 to traffic."""
    loss = changed(
        dual,
        box_s=[0.3] * 10,
        line_s=[1.0, 2.0] * 5,
        traffic_s=[18.6, 20.6] * 5,
        lost_s=[19.9, 22.9] * 5,
    )
    assert sentence_of(told(dual, loss)) == (
        "Millbrook lost 21.4 s on average by the quarter mile from box 2: "
        "0.3 s to the box, 1.5 s to the line, 19.6 s to traffic."
    )


def test_what_was_gained_and_who_is_left_out_are_said(dual: Recording) -> None:
    """A minus is no loss; a mean over those who arrived says how many did not."""
    gone = [np.nan] * 3
    loss = changed(
        dual,
        box_s=[0.1] * 7 + gone,
        line_s=[0.04] * 7 + gone,
        traffic_s=[-0.6] * 7 + gone,
        lost_s=[-0.46] * 7 + gone,
    )
    assert sentence_of(told(dual, loss)) == (
        "Millbrook gained 0.5 s on average by the quarter mile from box 2: 0.1 s to the box, "
        "0.0 s to the line, 0.6 s gained in the traffic (3 of 10 did not get there in time)."
    )
    nobody = changed(dual, lost_s=[np.nan] * 10)
    assert sentence_of(told(dual, nobody)) == (
        "Nobody from Millbrook reached quarter mile within the time limit."
    )


def test_without_a_team_of_ours_the_boxes_are_told() -> None:
    """Which box lost least and most, in this race."""
    day = simrun.read(TOP / "scenarios" / "dual_meet.toml").changed({"teams.Millbrook.ours": None})
    recording = simrun.race(day, seed=1)
    boxes = race_tables(recording)["boxes"].query("checkpoint == 'quarter mile'")
    means = boxes.set_index("box")["lost_s_mean"]
    expected = (
        f"In this race box {means.idxmin()} lost the least by the quarter mile, {means.min():.1f} s"
    )
    assert sentence_of(told(recording)).startswith(expected)
    assert f"box {means.idxmax()} the most, {means.max():.1f} s" in sentence_of(told(recording))


def test_a_bar_is_as_high_as_its_part() -> None:
    """Three boxes lose 2, 4 and 8 s to traffic alone: its ink covers 1 to 2 to 4, and no other is there."""
    lost = np.array([2.0, 4.0, 8.0])
    rows = {"box": [1, 2, 3], "checkpoint": "m", "count": 7, "lost_s_mean": lost}
    parts = {"box_s_mean": 0.0, "line_s_mean": 0.0, "traffic_s_mean": lost, "racing_s_mean": 0.0}
    png = loss_chart(pd.DataFrame(rows | parts), "m", "$t$", our_box=2)
    with Image.open(io.BytesIO(png)) as picture:
        pixels = np.asarray(picture.convert("RGB"))
    high = {part: (pixels == COLOURS[ink]).all(axis=2).sum(axis=0) for part, ink in INKS.items()}
    tall = high["traffic"][high["traffic"] > 25]
    sides = np.flatnonzero(np.abs(np.diff(tall)) > 10)
    found = [np.median(group) for group in np.split(tall, sides + 1) if len(group) > 30]
    assert np.array(found) == pytest.approx(found[0] * np.array([1, 2, 4]), rel=0.08)
    assert high["box"].max() < 20, "only its mark below the chart"
    assert high["line"].max() < 20


def test_racing_is_told_where_somebody_races(dual: Recording) -> None:
    """The fourth part has its words and its bar, and neither where racing is off."""
    assert "racing" not in sentence_of(told(dual))
    raced = simrun.race(dual.scenario.changed({"field.racing": "on"}), seed=1)
    loss = race_tables(raced)["loss"]
    ours = loss[(loss["team"] == "Millbrook") & (loss["checkpoint"] == "quarter mile")]
    mean = ours["racing_s"].mean()
    assert abs(mean) > 0.0
    word = "s to racing." if round(mean, 1) >= 0 else "s gained by racing."
    assert sentence_of(told(raced)).endswith(f"{abs(mean):.1f} {word}")
    rows = {"box": [1, 2, 3], "checkpoint": "m", "count": 7, "lost_s_mean": 3.0}
    parts = {"box_s_mean": 0.0, "line_s_mean": 0.0, "traffic_s_mean": 0.0}
    for racing, seen in ((0.0, False), (3.0, True)):
        png = loss_chart(pd.DataFrame(rows | parts | {"racing_s_mean": racing}), "m", "t")
        with Image.open(io.BytesIO(png)) as picture:
            pixels = np.asarray(picture.convert("RGB"))
        assert (pixels == COLOURS[INKS["racing"]]).all(axis=2).any() == seen


def test_moments_are_those_of_the_middle_runner(dual: Recording) -> None:
    """Gun, gate, corner and last mark, in order, three seconds before the fifth of our ten is there."""
    found = moments_of(told(dual), None)
    assert [moment.words for moment in found] == [
        "the gun",
        "gate, 12 ft",
        "mill corner",
        "quarter mile",
    ]
    fifth = np.sort(dual.crossing_s[dual.roster.team == "Millbrook", -1])[4]
    assert found[-1].second_s == pytest.approx(fifth - 3)
    assert found[-1].address == f"replay.html#at={fifth - 3:.1f}"
    assert found[0].second_s == 0.0


def test_links_stand_only_beside_their_replay(dual: Recording, tmp_path: Path) -> None:
    """race.html links to replay.html where both are of this race, and never to one that lies there."""
    (tmp_path / "replay.html").write_text("of another race", encoding="utf-8")
    alone = RaceResult(dual, tmp_path, "us", gif=False)
    alone.save()
    assert "replay.html" not in (tmp_path / "race.html").read_text("utf-8")
    both = RaceResult(dual, tmp_path, "us", gif=False, page=True)
    assert tmp_path / "replay.html" in both.save()
    page = (tmp_path / "race.html").read_text("utf-8")
    assert page.count('href="replay.html#at=') == 4
    assert "of another race" not in (tmp_path / "replay.html").read_text("utf-8")


def test_the_page_tells_what_the_terminal_tells(dual: Recording, tmp_path: Path) -> None:
    """Sentence first; every runner of ours; every mark; what is left out."""
    result = RaceResult(dual, tmp_path, "us", gif=False)
    result.save()
    page = (tmp_path / "race.html").read_text("utf-8")
    assert page.index(f"<h1>{result.sentence}</h1>") < page.index("<img")
    ours = [name for i, name in enumerate(dual.roster.name) if dual.roster.team[i] == "Millbrook"]
    for words in (*ours, "gate", "mill corner", "Left out: falls", "Invented world"):
        assert words in page
        assert words in result.text
    assert result.text.startswith(result.sentence)


def test_nobody_waits_for_a_race_to_be_told_no(tmp_path: Path) -> None:
    """The names are those of this seed's people: a runner of seed 1 is unknown in seed 2."""
    day = simrun.read(TOP / "scenarios" / "dual_meet.toml")
    one, two = (set(day.roster(seed).name) for seed in (1, 2))
    stranger = sorted(one - two)[0]
    with pytest.raises(BadInput, match="the name of a team or a runner"):
        run_race(day, tmp_path / "out", 2, follow=stranger)
    with pytest.raises(BadInput, match=r"view\.to_s: 1000 s; from 0 to 300 s, the clock's limit"):
        run_race(day, tmp_path / "out", 2, view=View(to_s=1000))
    with pytest.raises(BadInput, match="did you mean 'mill corner'"):
        run_race(day, tmp_path / "out", 2, view=View(inset="mil corner"))
    assert not (tmp_path / "out").exists()


def test_a_reader_who_turns_away_costs_no_race(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`simrun race ... | head -1`: the pipe is closed before the files are written; they are written."""

    def closed(*_: object, **__: object) -> None:
        raise BrokenPipeError

    monkeypatch.setattr("builtins.print", closed)
    day = str(TOP / "scenarios" / "dual_meet.toml")
    assert main(["race", day, "--no-gif", "--out", str(tmp_path)]) == 0
    assert {"loss.csv", "recording.npz", "race.html"} <= {path.name for path in tmp_path.iterdir()}
