"""Somebody down for a while: nothing before, a ripple after, the mirrored answer on the mirrored side.

    python tests/validation/test_disturbance.py 200

runs the placebo for so many preset sets of seeds, keeps a row a set in placebo.csv beside this file (it goes
on where it was stopped), and says how often the placebo's 95 % interval covers zero.
"""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from simrun.answers.disturb.held_up import figures_of
from simrun.answers.disturb.run import disturb
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.engine.down import Down, run_with
from simrun.engine.run import field_of
from simrun.pages.cautions import CAUTION
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.worlds import scenario_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DUAL, FEN = (SCENARIOS / f"{name}.toml" for name in ("dual_meet", "brindle_fen"))

LANE = """
name = "Lane"
[clock]
limit = "3 min"
[start]
width = {width}
boxes = {boxes}
box_width = {box_width}
front_row = {front_row}
[course]
[[course.pieces]]
piece = "straight"
name = "lane"
length = 300
width = {width}
left = "barrier"
right = "barrier"
[field]
fill = true
opening = 0.05
lines = {{ inside = 1.0 }}
pull = [0.0, 0.0]
[[teams]]
name = "Alderbrook"
box = {ours}
"""


def lane(
    folder: Path, width: float = 12, boxes: int = 6, box_width: float = 2, front_row: int = 3
) -> Scenario:
    """A straight lane between two walls, the line as wide as the lane."""
    sizes = {"width": width, "boxes": boxes, "box_width": box_width, "front_row": front_row}
    sizes["ours"] = min(3, boxes)
    return scenario_of(LANE.format(**sizes), folder)


def test_nobody_down_is_the_same_race_to_the_last_bit(tmp_path: Path) -> None:
    """A body that appears for no time at all changes nothing; one that does changes something."""
    scenario = lane(tmp_path)
    plain = field_of(scenario, 1).run().tape
    still = run_with(field_of(scenario, 1), Down(150, 0.5, 20, 0.0)).tape
    assert (plain.crossing_s == still.crossing_s).all()
    assert np.array_equal(plain.position, still.position, equal_nan=True)
    stopped = run_with(field_of(scenario, 1), Down(150, 0.5, 20, 20.0)).tape
    assert (plain.crossing_s != stopped.crossing_s).any()


def test_who_is_past_already_is_not_touched(tmp_path: Path) -> None:
    """Delays are none for those who were well past, and never much below none for the others' room."""
    held = disturb(lane(tmp_path), Down(150, 0.5, math.nan, 15), (1, 2))
    early = held.passed_s < held.from_s[:, None] - 3.0
    assert early.any()
    assert np.abs(held.delay_s[early]).max() < 1e-9


def test_a_blocked_lane_holds_everybody_who_comes_until_it_is_clear(tmp_path: Path) -> None:
    """In a lane of 1.2 m a body of 1 m in the middle lets nobody by: whoever comes within the 20 s is at the
    point no sooner than it is clear, and is held up by what was left of them, within a stride's time.

    computed
    """
    scenario = lane(tmp_path, 1.2, 1, 1.2, 1)
    held = disturb(scenario, Down(150, 0.5, math.nan, 20), (1, 2, 3))
    after = held.passed_s - held.from_s[:, None]
    caught = (after > 1.0) & (after < 20.0)
    assert caught.any()
    assert (held.delay_s[caught] > 20.0 - after[caught] - 0.5).all()


def test_a_body_at_the_other_edge_gives_the_mirrored_delays(tmp_path: Path) -> None:
    """The lane is its own mirror image, people are not: over twelve seeds the sides cannot be told apart."""
    from simrun.trials.statistics import paired

    scenario = lane(tmp_path)
    seeds = tuple(range(1, 13))
    left, right = (
        disturb(scenario, Down(150, share, 32.0, 20), seeds).held_up for share in (0.2, 0.8)
    )
    assert not paired(left, right).is_seen


def test_a_longer_stop_holds_up_more(tmp_path: Path) -> None:
    """Ten seeds in a 3 m lane: 8 s against 1 s, with the interval of the paired difference.

    common practice
    """
    from simrun.trials.statistics import paired

    scenario = lane(tmp_path, 3, 3, 1, 1)
    seeds = tuple(range(1, 11))
    short, long = (disturb(scenario, Down(100, 0.5, 21.0, for_s), seeds) for for_s in (1.0, 8.0))
    assert paired(long.held_up, short.held_up).low > 0
    assert figures_of(long).longest.mean > figures_of(short).longest.mean


PLACEBO = Path(__file__).with_name("placebo.csv")
SEEDS_A_SET = 10
"""As many as the command runs."""


def placebo_row(number: int) -> dict[str, float]:
    """One preset set of seeds at the hedge gap, where the field is packed, inputs drawn."""
    day = with_inputs_as(read(FEN), True)
    first = 1 + SEEDS_A_SET * number
    seeds = tuple(range(first, first + SEEDS_A_SET))
    found = figures_of(disturb(day, Down(175.0, 0.5, math.nan, 10.0), seeds)).net_placebo
    return {"set": number, "mean_s": found.mean, "low_s": found.low, "high_s": found.high}


def covers(table: pd.DataFrame) -> float:
    """Which share of the sets has an interval with zero in it?"""
    return float(((table["low_s"] <= 0) & (table["high_s"] >= 0)).mean())


@pytest.mark.slow
def test_the_placebo_is_nothing_as_often_as_it_says() -> None:
    """200 preset sets of seeds, kept: zero is covered in 91 to 98 of 100; the first is as it was run."""
    table = pd.read_csv(PLACEBO)
    assert len(table) == 200
    assert 0.91 <= covers(table) <= 0.98
    assert placebo_row(0)["mean_s"] == pytest.approx(table["mean_s"][0], abs=1e-6)


def test_down_for_no_time_holds_up_nobody_and_a_blocked_lane_does(tmp_path: Path) -> None:
    """Net of chance: a tenth of a second in a packed lane is nothing that can be told, twenty seconds are."""
    scenario = lane(tmp_path, 3, 3, 1, 1)
    short, long = (
        figures_of(disturb(scenario, Down(100, 0.5, 21.0, for_s), tuple(range(1, 9))))
        for for_s in (0.1, 20.0)
    )
    assert not short.held_up.is_seen
    assert not short.net_placebo.is_seen
    assert long.held_up.low > 0
    assert long.net.low > 10.0


@pytest.mark.parametrize(
    ("down", "told"),
    [
        (Down(9999, 0.5, 1, 5), "at: 9999 m"),
        (Down(150, 1.5, 1, 5), "across"),
        (Down(150, 0.5, 1, 0), "for: 0 s"),
        (Down(float("nan"), 0.5, 1, 5), "at: nan"),
    ],
)
def test_bad_points_are_one_line(down: Down, told: str, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=told):
        disturb(lane(tmp_path), down, (1,))


def test_the_command_says_who_is_held_up_and_never_how_likely(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sentences, the caution, the recall window, files; figures as JSON."""
    words = ["disturb", str(DUAL), "--at", "70 yd", "--lasts", "5", "--seeds", "2"]
    assert main([*words, "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "70 yd after the start" in told
    assert "inside the first 109 yd" in told
    assert CAUTION in told
    page = (tmp_path / "disturbance.html").read_text("utf-8")
    assert "not a forecast" in page
    assert CAUTION in page
    assert f"<h1>{told.splitlines()[0]}</h1>" in page
    assert "probab" not in page + told
    assert {p.name for p in tmp_path.iterdir()} == {
        "disturbance.html",
        "disturbance.png",
        "disturbance.csv",
    }
    assert main([*words, "--out", str(tmp_path), "--json"]) == 0
    (answer,) = json.loads(capsys.readouterr().out)["answers"]
    assert answer["figures"]["in_recall_window"] is True
    assert answer["sentence"] == told.splitlines()[0]
    with pytest.raises(SystemExit):
        main(["disturb", str(DUAL), "--at", "the gate", "--out", str(tmp_path)])
    assert "the gate" in capsys.readouterr().err


def main_of(count: int) -> None:
    """So many sets, those that are kept already left alone; each kept as soon as it is run."""
    kept = pd.read_csv(PLACEBO)["set"].tolist() if PLACEBO.exists() else []
    for number in range(count):
        if number not in kept:
            row = pd.DataFrame([placebo_row(number)])
            row.to_csv(PLACEBO, mode="a", header=not PLACEBO.exists(), index=False)
    table = pd.read_csv(PLACEBO)
    print(f"{len(table)} sets of {SEEDS_A_SET} seeds: {100 * covers(table):.1f} % cover zero")


if __name__ == "__main__":
    main_of(int(sys.argv[1]))
