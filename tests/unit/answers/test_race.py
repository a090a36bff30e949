"""One race told: the sentence by hand, the chart by the pixel, and links that lead to their moments."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from PIL import Image

import simrun
from simrun.answers.race import finish_words
from simrun.answers.race.charts import loss_chart
from simrun.answers.race.race_tables import race_tables
from simrun.answers.race.raced_words import entries_words, left_rows, opening_rows, raced_words
from simrun.answers.race.result import RaceResult
from simrun.answers.race.run import run_race
from simrun.answers.race.words import Told, loss_rows, moments_of, sentence_of, text_of
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.engine.run import run_race as run_to_the_end
from simrun.pages.racing_words import OPENING_IS_A_SPLIT
from simrun.pictures.ink.colours import INKS, PART_INKS
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
    high = {part: (pixels == INKS[ink]).all(axis=2).sum(axis=0) for part, ink in PART_INKS.items()}
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
        assert (pixels == INKS[PART_INKS["racing"]]).all(axis=2).any() == seen


@pytest.fixture(scope="module")
def raced(dual: Recording, tmp_path_factory: pytest.TempPathFactory) -> RaceResult:
    """The dual meet raced for places, run as the command runs it."""
    folder = tmp_path_factory.mktemp("raced")
    return run_race(dual.scenario.changed({"field.racing": "on"}), folder, 1, gif=False)


def test_a_race_for_places_tells_its_fourth_part_beside_what_the_front_adds(
    raced: RaceResult, dual: Recording
) -> None:
    """A column for each in every table by box and line, the figures those of the loss; off, none."""
    loss, boxes = raced.tables["loss"], raced.tables["boxes"]
    assert list(loss.columns)[-1] == "front_adds_s"
    here = loss[loss["checkpoint"] == "quarter mile"]
    means = here.groupby("box")[["racing_s", "front_adds_s"]].mean()
    assert means["front_adds_s"].abs().max() > 0.0
    rows = loss_rows(raced._told, "box", "quarter mile")
    assert rows[0][4:9] == [
        "box s",
        "line s",
        "traffic s",
        "racing s",
        "of traffic, by the front s",
    ]
    for row in rows[1:]:
        found = means.loc[int(row[0])]
        assert row[7:9] == [f"{found['racing_s']:+.1f}", f"{found['front_adds_s']:+.1f}"]
    assert {"front_adds_s_mean", "front_adds_s_p10"} <= set(boxes.columns)
    ours = here.loc[here["team"] == "Millbrook", "front_adds_s"].mean()
    change = f"adds {ours:.1f} s to" if round(ours, 1) >= 0 else f"takes {-ours:.1f} s off"
    assert f"{change} the traffic of Millbrook by the quarter mile" in raced.text
    assert "racing s" not in loss_rows(told(dual), "box", "quarter mile")[0]
    assert "It is not bad luck" in raced.text
    assert "It is not bad luck" not in text_of(told(dual))


def test_an_opening_is_told_in_seconds_where_it_is_a_split(
    raced: RaceResult, dual: Recording
) -> None:
    """One line on its meaning, the told seconds of ours, and that every body can; nothing with racing off."""
    opened = raced.tables["openings"].query("team == 'Millbrook'")
    low, high = opened["told_s"].min(), opened["told_s"].max()
    assert OPENING_IS_A_SPLIT in raced.text
    assert f"Millbrook was told {low:.1f} to {high:.1f} s from the gun to 150 yd" in raced.text
    assert "Everybody's body can open as told." in raced.text
    assert OPENING_IS_A_SPLIT not in text_of(told(dual))
    assert set(race_tables(dual)) == {"loss", "boxes", "lines", "boxes_lines"}


def test_what_a_body_cannot_do_is_said_by_name(raced: RaceResult) -> None:
    """By how many seconds, and in the table beside the name."""
    day = raced.day.changed({"teams.Millbrook.opening": 0.4, "field.opening_for": 60})
    recording = simrun.race(day.changed({"clock.limit": 20}), seed=1)
    tables = race_tables(recording, np.zeros_like(recording.crossing_s))
    lost = tables["openings"].query("cannot")
    said = "\n".join(raced_words(recording, tables, "gate", "metric"))
    assert len(lost) >= 10
    first = lost.iloc[0]
    assert f"Cannot open as told, even alone: {first.runner} ({first.missed_s:+.1f} s)" in said
    rows = opening_rows(recording, tables["openings"], "metric")
    assert rows[1][-1] == f"{first.missed_s:+.1f}"


def test_what_ours_have_left_stands_at_every_mark(raced: RaceResult, tmp_path: Path) -> None:
    """Metres left in the race and, in brackets, alone: on the page and in left.csv."""
    recording = raced.recording
    first = int(np.flatnonzero(recording.roster.team == "Millbrook")[0])
    rows = left_rows(recording, [0, 1, 2], "metric")
    assert rows[0] == ["runner", "gate", "mill corner", "quarter mile"]
    assert len(rows) == 11
    left, alone = recording.reserve_m[first, 1], recording.alone_reserve_m[first, 1]
    assert rows[1][2] == f"{left:.0f} m ({alone:.0f} m)"
    raced.save(tmp_path)
    page = (tmp_path / "race.html").read_text("utf-8")
    assert "Openings, and what is left" in page
    assert "Millbrook: metres left at each checkpoint (alone)" in page
    table = pd.read_csv(tmp_path / "left.csv")
    here = table[(table["runner"] == rows[1][0]) & (table["checkpoint"] == "mill corner")]
    assert here["left_m"].item() == pytest.approx(left, abs=1e-6)
    assert here["left_alone_m"].item() == pytest.approx(alone, abs=1e-6)
    assert (tmp_path / "openings.csv").exists()


def test_nobody_is_said_to_hold_the_plan_where_everybody_races(
    raced: RaceResult, dual: Recording
) -> None:
    """The reading of the finish is another one in a race for places."""
    assert "nobody here runs harder" in finish_words.reading_of(dual)
    assert "nobody here runs harder" not in finish_words.reading_of(raced.recording)
    assert "chase, cover moves and kick" in finish_words.reading_of(raced.recording)


def test_a_long_race_is_held_beside_its_entry_list(dual: Recording) -> None:
    """Only one that is run to its finish and is long enough; far off, a warning stands there."""
    finish = [{"name": "gate", "at": 128}, {"name": "finish", "at": 468.5}]
    day = dual.scenario.changed({"field.racing": "on", "course.checkpoints": finish})
    assert entries_words(simrun.race(day, seed=1)) == "", "too short"
    finish = [{"name": "gate", "at": 128}, {"name": "finish", "at": 3239.9}]
    length = {"course.pieces.tow path.length": 3000, "clock.limit": "30 min"}
    long = day.changed({**length, "course.checkpoints": finish})
    recording = run_to_the_end(long, 1, frames=False)
    said = entries_words(recording)
    assert said.startswith("Winner and middle runner, scaled to 5 km by the length: ")
    slow = replace(recording, crossing_s=1.2 * recording.crossing_s)
    assert "Check the seed times: the winning time +" in entries_words(slow)
    early = replace(recording, scenario=long.changed({"course.checkpoints": finish[:1]}))
    assert entries_words(early) == "", "not to the finish"


def test_moments_are_those_of_the_middle_runner(dual: Recording) -> None:
    """Gun, gate, corner, last mark, where most was lost: three seconds before the fifth of ours is there."""
    found = moments_of(told(dual), None)
    words = [moment.words for moment in found]
    most = next(word for word in words if "the costliest 50 yd" in word)
    assert set(words) == {"the gun", "gate, 12 ft", "mill corner", "quarter mile", most}
    assert [one.second_s for one in found] == sorted(one.second_s for one in found)
    fifth = np.sort(dual.crossing_s[dual.roster.team == "Millbrook", -1])[4]
    last = next(moment for moment in found if moment.words == "quarter mile")
    assert last.second_s == pytest.approx(fifth - 3)
    assert last.address == f"replay.html#at={fifth - 3:.1f}"
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
    assert page.count('href="replay.html#at=') == 5
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
