"""An entry list, a box sheet, and our team's name: the papers as they come, through the whole door."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import imageio.v3 as imageio
import numpy as np
import pandas as pd
import pytest

from simrun.cli import main
from simrun.pictures.film.pair import plan_words
from simrun.state.recording_file import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FEN = str(SCENARIOS / "brindle_fen.toml")
OURS = "Ellerfold"
ONE = ["--workers", "1"]


def rows_of(name: str) -> list[dict[str, str]]:
    """The lines of a paper, read by nobody of ours."""
    with (SCENARIOS / name).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


SHEET = {row["School"]: int(row["Box"]) for row in rows_of("brindle_fen_boxes.csv")}
LISTED = [row for row in rows_of("brindle_fen_entries.csv") if row["School"] == OURS]
OUR_NAMES = [row["Name"] for row in LISTED]


@pytest.fixture(scope="module")
def race(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One race with its picture of the first seconds."""
    folder = tmp_path_factory.mktemp("race")
    assert main(["race", FEN, "--to", "3", "--follow", OURS, "--out", str(folder)]) == 0
    return folder


@pytest.fixture(scope="module")
def tactic(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A plan from one race an arm, with a recording of the best and of the worst."""
    folder = tmp_path_factory.mktemp("tactic")
    words = ["--seeds", "1", "--fresh", "5", "--story", *ONE]
    assert main(["tactic", FEN, *words, "--out", str(folder)]) == 0
    return folder


def arms_of(folder: Path, step: str) -> dict[str, pd.DataFrame]:
    """What each arm of one step came to."""
    table = pd.read_csv(folder / "tactic.csv")
    return dict(list(table[table.step == step].groupby("arm")))


@pytest.mark.slow
def test_every_arm_of_a_search_is_another_race(tactic: Path) -> None:
    """Six openings, three lines at the corner, front rows, ways to sit and go: each other times of our seven.
    Harder openings still, at the edge, are the same once nobody's body can do them.
    """
    arms = arms_of(tactic, "opening and line")
    usual = [arm for name, arm in arms.items() if float(name.split()[0]) < 0.35]
    assert len(usual) >= 6
    assert len({name.split()[1] for name in arms}) == 3
    for some in (
        usual,
        *(arms_of(tactic, s).values() for s in ("front row", "where to sit and go")),
    ):
        assert len(some) >= 3
        assert len({tuple(arm.time_s_mean) for arm in some}) == len(some)


@pytest.mark.slow
def test_what_our_people_are_told_moves_them(tactic: Path) -> None:
    """Told to go out 30 % faster, our seven are further up at the hedge gap than told race pace."""
    arms = arms_of(tactic, "pay-off")
    place = {o: arms[o][arms[o].checkpoint == "hedge gap"].place_mean for o in ("0.00", "0.30")}
    assert place["0.00"].mean() > place["0.30"].mean() + 1


@pytest.mark.slow
def test_the_teams_page_prints_only_what_is_ordered(tactic: Path) -> None:
    """Our seven of the list, each with seconds at the stake, and those are the table's."""
    page = (tactic / "team.html").read_text("utf-8")
    told = re.findall(
        r'<tr><td class="left">([^<]+)</td><td class="left">row \d, [^<]+</td>'
        r'<td class="left">([^<]+)</td>',
        page,
    )
    assert {name for name, _ in told} == set(OUR_NAMES)
    orders = pd.read_csv(tactic / "tactic_orders.csv").set_index("runner")
    for name, words in told:
        row = orders.loc[name]
        ends = (row.low_s, row.high_s) if words.startswith("as you like") else (row.told_s,)
        assert re.findall(r"\d+", words) == [f"{seconds:.0f}" for seconds in ends]
    assert f"Box {SHEET[OURS]}, counted from the left" in page
    assert "names and times change" not in page


def test_check_seats_every_team_of_the_sheet(capsys: pytest.CaptureFixture[str]) -> None:
    """Each in its box, and nobody in the two boxes that the sheet leaves out."""
    assert main(["check", FEN]) == 0
    page = capsys.readouterr().out
    rows = re.findall(r"^(\d+) +(\D*?)(?: +\d+\.\d\d){4}$", page, re.MULTILINE)
    assert {team: int(box) for box, team in rows if team} == SHEET
    assert {int(box) for box, team in rows if not team} == {6, 14}


def test_a_race_is_run_by_those_on_the_list(race: Path) -> None:
    """Our seven by name, every team in its box, everybody at the finish, and a picture."""
    loss = pd.read_csv(race / "loss.csv")
    assert list(dict.fromkeys(loss[loss.team == OURS].runner)) == OUR_NAMES
    assert {(team, box) for team, box in zip(loss.team, loss.box, strict=True)} == set(
        SHEET.items()
    )
    finish = pd.read_csv(race / "finish.csv")
    assert len(finish) == 81
    assert finish.place.notna().all()
    assert set(pd.read_csv(race / "teams.csv").team) == set(SHEET)
    assert imageio.imread(race / "race.gif", index=None).shape[1:3] == (450, 800)


def test_a_replay_follows_one_of_the_list(race: Path, tmp_path: Path) -> None:
    """The page knows all our names, and a runner of the list is followed by name."""
    words = ["replay", str(race / "recording.npz"), "--follow", OUR_NAMES[3]]
    assert main([*words, "--page", "--out", str(tmp_path)]) == 0
    page = (tmp_path / "replay.html").read_text("utf-8")
    assert all(name in page for name in OUR_NAMES)
    assert main([*words, "--from", "30", "--to", "32", "--out", str(tmp_path)]) == 0
    assert np.ptp(imageio.imread(tmp_path / "race.gif", index=0)) > 100


@pytest.mark.slow
def test_two_plans_are_named_by_their_orders(tactic: Path, tmp_path: Path) -> None:
    """Side by side the words are those of the orders, not the times of the entry list."""
    words = ["replay", str(tactic / "better.npz"), "--beside", str(tactic / "worse.npz")]
    assert main([*words, "--page", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "replay.html").is_file()
    names = plan_words(*(load(tactic / f"{which}.npz") for which in ("better", "worse")))
    order = r"(opening [0-9.]+|lines pump corner (inside|middle|outside))"
    assert all(re.fullmatch(f"{order}(, {order})*", name) for name in names), names


@pytest.mark.slow
def test_boxes_counts_everybody_of_the_list(tmp_path: Path) -> None:
    """Drawn again: twelve of fourteen boxes, all in them. Ours, gone on with: all fourteen, every line."""
    words = ["boxes", FEN, "--until", "175", *ONE]
    assert main([*words, "--seeds", "1", "--out", str(tmp_path)]) == 0
    every = pd.read_csv(tmp_path / "boxes.csv")
    whole = every[every.line == "all"].set_index("box")
    assert len(whole) == 12
    assert set(whole.index) <= set(range(1, 15))
    assert sorted(whole.runners) == [5, 6, *[7] * 10]
    today = pd.read_csv(tmp_path / "boxes_ours.csv")
    assert set(today.box) == {SHEET[OURS]}
    assert main([*words, "--seeds", "1", "--ours", "--out", str(tmp_path)]) == 0
    ours = pd.read_csv(tmp_path / "boxes.csv").query("question == 'our team'")
    assert set(ours.box) == set(range(1, 15))
    assert set(ours[ours.line == "inside"].runners) == {7}
    assert ours[ours.line == "all"].lost_s_mean.nunique() > 10


def test_layout_moves_the_line_and_keeps_the_people(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A wider line is another answer; another number of teams is refused, with the reason."""
    words = ["layout", FEN, "--seeds", "1", "--until", "175", *ONE, "--out", str(tmp_path)]
    assert main([*words, "--vary", "width=48"]) == 0
    table = pd.read_csv(tmp_path / "layout.csv").query("checkpoint == 'first narrowing'")
    assert table.lost_s.nunique() == 2
    assert len(pd.read_csv(tmp_path / "stakes.csv")) >= 14
    assert main([*words, "--vary", "teams=10"]) == 2
    assert "out of an entry list" in capsys.readouterr().err


def test_the_card_tells_every_stretch(tmp_path: Path) -> None:
    """From the gun to the finish, with what the crowd of the list costs in each."""
    assert main(["card", FEN, "--seeds", "1", *ONE, "--out", str(tmp_path)]) == 0
    card = pd.read_csv(tmp_path / "card.csv")
    assert card.from_m.iloc[0] == 0
    assert (card.from_m.iloc[1:].to_numpy() == card.to_m.iloc[:-1].to_numpy()).all()
    assert {"hedge gap", "drove"} <= set(card.stretch)
    assert card.set_index("stretch").traffic_s["drove"] > 0
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


def test_finish_ranks_the_teams_of_the_list(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Twelve teams with points, our seven with places; the fastest by seed times is ahead of the slowest."""
    assert main(["finish", FEN, "--seeds", "2", *ONE, "--out", str(tmp_path)]) == 0
    assert f"{OURS}, in the order of finish" in capsys.readouterr().out
    teams = pd.read_csv(tmp_path / "finish_teams.csv").set_index("team")
    assert set(teams.index) == set(SHEET)
    assert teams.points_mean.notna().all()
    assert teams.points_mean["Hollin Ridge"] < teams.points_mean["Fallowick"]
    assert len(pd.read_csv(tmp_path / "finish_ours.csv")) == 7


def test_disturb_holds_some_of_the_field_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Somebody down in the hedge gap: some are later, never more than there are runners; with the caution."""
    words = ["--at", "175", "--lasts", "15", "--seeds", "1"]
    assert main(["disturb", FEN, *words, "--out", str(tmp_path)]) == 0
    page = capsys.readouterr().out
    held = int(re.search(r"in one race (\d+) more of 81 runners are held up by more than", page)[1])
    assert 0 < held < 81
    assert "Not a safety assessment" in page
