"""What a box costs, from race day to sentence: not the teams that stand there, on whatever paper.

What a placebo prints: the teams of the box sheet change places and no cost moves; on a symmetric course
mirror boxes cost the same, with everybody equal and however strong the team that stands in one.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray

from simrun.answers.boxes.sample import THE_BOX, every_box
from simrun.cli import main
from simrun.measure.finish import reaches_finish
from simrun.measure.loss import PARTS
from simrun.scenario.changes.changes_course import ending_by
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.statistics import estimate, holm
from tests.helpers.worlds import scenario_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
Array = NDArray[np.float64]
FEN = SCENARIOS / "brindle_fen.toml"
LOST, PLACES = PARTS.index("lost_s"), PARTS.index("places_lost")

TEAMS = "\n".join(f'[[teams]]\nname = "Team {n}"\nbox = {n}' for n in range(2, 9))

GAP_IN_THE_MIDDLE = f"""
name = "Gap in the middle"
[clock]
limit = "4 min"
[start]
width = 40
boxes = 8
box_width = 5
front_row = 5
[[course.pieces]]
piece = "straight"
name = "field"
length = 60
width = 40
[[course.pieces]]
piece = "narrowing"
name = "gap"
length = 20
width = 4
[[course.pieces]]
piece = "straight"
name = "lane"
length = 40
[[course.checkpoints]]
name = "gap"
at = 82
[field]
ability = "even"
time = "18:00"
runners = 5
[[teams]]
name = "Team 1"
box = 1
{TEAMS}
"""


STRONG = ", ".join(f'{{ name = "{name}", time = "14:30" }}' for name in "ABCDE")
ONE_STRONG_TEAM = GAP_IN_THE_MIDDLE.replace(
    'name = "Team 1"', f'name = "Harrowmere"\npeople = [{STRONG}]'
).replace('ability = "even"', 'ability = "normal"\nspread = "20 s"')
SEEDS = tuple(range(1, 25))


def with_sheet(day: Scenario, moved: int) -> Scenario:
    """The race day with the teams of its box sheet so many places on, its lines the other way round."""
    name = day.start.box_sheet
    assert name is not None
    head, *rows = day.attachments[name].strip().splitlines()
    cells = [row.split(",") for row in rows]
    box = head.split(",").index("Box")
    numbers = [row[box] for row in cells]
    for row, number in zip(cells, numbers[moved:] + numbers[:moved], strict=True):
        row[box] = number
    sheet = "\n".join([head, *(",".join(row) for row in reversed(cells))])
    return Scenario.assembled(day.document, {**day.attachments, name: sheet}, day.file)


@pytest.mark.parametrize("until_m", [175, pytest.param(900, marks=pytest.mark.slow)])
def test_the_teams_of_the_box_sheet_change_places_and_no_cost_moves(
    until_m: float, tmp_path: Path
) -> None:
    """Seconds, places and, at the finish, points of every box to the last bit; the paper did change."""
    day = ending_by(read(FEN), until_m)
    other = with_sheet(day, 5)
    assert [team.box for team in day.teams] != [team.box for team in other.teams]
    one, two = (
        every_box(each, (1, 2, 3), tmp_path / f"{n}.db", workers=1)
        for n, each in enumerate((day, other))
    )
    for part in (LOST, PLACES):
        assert np.isfinite(one.costs(-1, part)).any()
        np.testing.assert_array_equal(one.costs(-1, part), two.costs(-1, part))
    np.testing.assert_array_equal(one.points_costs, two.points_costs)
    assert np.isfinite(one.points_costs).any() == reaches_finish(day.strip)


def mirrored(cost: Array) -> Array:
    """How likely is such a difference between a box and its mirror box by chance? (4,), for four looks."""
    return holm([estimate(cost[k] - cost[7 - k]).p_value for k in range(4)])


def test_a_strong_team_is_no_matter_of_its_box(tmp_path: Path) -> None:
    """Three minutes faster, drawn into box 1; three blocks. Box means of one draw make box 1 a good one."""
    day, store = scenario_of(ONE_STRONG_TEAM, tmp_path), tmp_path / "races.db"
    sample = every_box(day, SEEDS, store, workers=1)
    assert min(mirrored(sample.costs(0, LOST))) > 0.05
    assert min(mirrored(sample.costs(0, PLACES))) > 0.05
    plan = Plan({"as drawn": day}, SEEDS)
    carry_out(plan, store, workers=1)
    races = [*outcomes_of(plan, "as drawn", store)]
    lost = np.stack([(race.crossing_s - race.best_s)[:, 0] for race in races])
    naive = np.stack([lost[:, races[0].box == box].mean(axis=1) for box in range(1, 9)])
    assert mirrored(naive)[0] < 0.001
    assert naive[0].mean() < naive[7].mean() - 0.5


def test_with_everybody_equal_mirror_boxes_are_equal(tmp_path: Path) -> None:
    """Three blocks to a gap in the middle: outer boxes cost more than inner ones, and no pair differs."""
    day = scenario_of(GAP_IN_THE_MIDDLE, tmp_path)
    cost = every_box(day, SEEDS, tmp_path / "r.db", workers=1).costs(0, LOST)
    assert min(mirrored(cost)) > 0.05
    outer = estimate(cost[[0, 1, 6, 7]].mean(axis=0) - cost[[2, 3, 4, 5]].mean(axis=0))
    assert outer.low > 0


def test_what_one_box_loses_another_gains(tmp_path: Path) -> None:
    """Places: over the field of every race their mean is 0, and over the boxes that of the costs."""
    day = ending_by(read(FEN), 175)
    sample = every_box(day, (1, 2, 3), tmp_path / "races.db", workers=1)
    np.testing.assert_allclose(np.nansum(sample.parts[..., PLACES], axis=1), 0, atol=1e-9)
    costs = np.nanmean(sample.costs(0, PLACES), axis=1)
    assert costs.sum() == pytest.approx(0, abs=1e-9)
    assert np.abs(costs).max() > 0.1


def asked(words: list[str], capsys: pytest.CaptureFixture[str]) -> list[str]:
    """The paragraphs that a terminal shows."""
    capsys.readouterr()
    assert main(words) == 0
    return capsys.readouterr().out.split("\n\n")


BOX = (
    r"Box (?P<box>\d+) (costs a team|saves a team|against the average box: no difference) .*\. "
    r"As drawn today, "
    r"(box (?P=box) (costs|saves) us|our team in box (?P=box) against the other boxes: no difference).*\."
)


@pytest.mark.parametrize(
    ("name", "box"), [pytest.param("brindle_fen", 11, marks=pytest.mark.slow), ("dual_meet", 2)]
)
def test_the_sentence_first_and_its_figures_in_the_csv(
    name: str, box: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Terminal and page begin with it; a short table; every second in it stands in the table beside it."""
    words = ["boxes", str(SCENARIOS / f"{name}.toml"), "--seeds", "4", "--workers", "1"]
    sentence, short, *_ = asked([*words, "--out", str(tmp_path)], capsys)
    found = re.fullmatch(BOX, sentence)
    assert found, sentence
    assert int(found["box"]) == box
    table, ours = (pd.read_csv(tmp_path / f"{n}.csv") for n in ("boxes", "boxes_ours"))
    whole = table[table.line == "all"]
    first, last = (whole[whole.checkpoint == whole.checkpoint.iloc[k]] for k in (0, -1))
    assert len(short.splitlines()) == 3 + len(first)
    wide, alone = (
        first[f"cost_s{end}_high"] - first[f"cost_s{end}_low"] for end in ("", "_chance")
    )
    assert (wide > alone + 1e-6).any(), "what nobody has measured is in the ranges"
    assert (wide >= alone - 1e-9).all()
    assert last.cost_points.notna().any()
    known = [first[first.box == box], ours[ours.checkpoint == ours.checkpoint[0]]]
    seconds = {
        f"{abs(v):.1f}"
        for rows in known
        for v in rows.filter(regex="^cost_s(_low|_high)?$").iloc[0]
    }
    assert set(re.findall(r"(\d+\.\d)", sentence)) <= seconds
    page = (tmp_path / "boxes.html").read_text("utf-8")
    assert sentence[:60] in page
    assert set(table.question) == {THE_BOX}


def test_races_that_end_early_have_no_points_and_say_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The sentence, the table and the CSV."""
    words = ["boxes", str(FEN), "--until", "175", "--seeds", "3", "--workers", "1"]
    sentence, short, *_ = asked([*words, "--out", str(tmp_path)], capsys)
    assert sentence.endswith(" No team points, because the races end before the finish.")
    assert "points" not in short
    assert pd.read_csv(tmp_path / "boxes.csv").cost_points.isna().all()


def test_a_store_of_another_meaning_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Places lost meant something else in it: refused, named, and left as it is."""
    import sqlite3

    words = ["boxes", str(SCENARIOS / "dual_meet.toml"), "--seeds", "2", "--workers", "1"]
    words += ["--until", "150", "--out", str(tmp_path)]
    asked(words, capsys)
    with sqlite3.connect(tmp_path / "boxes_races.db") as base:
        base.execute("UPDATE about SET value = '3' WHERE key = 'format'")
    base.close()
    assert main(words) == 2
    told = capsys.readouterr().err.strip().splitlines()
    assert len(told) == 1
    assert "format '3'" in told[0]
