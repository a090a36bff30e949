"""Inputs that nobody has measured: told, narrowed, drawn; refused in one line each."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.scenario.changes.changes_inputs import (
    with_inputs,
    with_inputs_drawn,
    with_inputs_fixed,
)
from simrun.scenario.changes.changes_people import with_field_lines
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.sources.assumed import BODY, INSIDE, PULL, assumed_inputs
from simrun.trials.plan import digest_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"
SWAY, FOLLOWING = "runner.sway_m", "runner.following_time_s"
TABLE = """
[inputs]
drawn = true
runner.standstill_gap_m = 0.1
"line.inside_share" = 0.7

[inputs.ranges]
"runner.following_time_s" = [0.4, 0.5]
"""


@pytest.fixture(scope="module")
def fen() -> Scenario:
    return read(SCENARIOS / "brindle_fen.toml")


def changed(day: Scenario, inputs: Any) -> Scenario:
    return day.changed({"inputs": inputs})


def test_the_table_is_read_with_or_without_quotation_marks(fen: Scenario, tmp_path: Path) -> None:
    for name in ("brindle_fen_boxes.csv", "brindle_fen_entries.csv"):
        (tmp_path / name).write_bytes((SCENARIOS / name).read_bytes())
    text = (SCENARIOS / "brindle_fen.toml").read_text("utf-8")
    (tmp_path / "day.toml").write_text(text.replace("[field]", f"{TABLE}\n[field]"), "utf-8")
    inputs = read(tmp_path / "day.toml").inputs
    assert inputs.told == {"runner.standstill_gap_m": 0.1, INSIDE: 0.7}
    assert inputs.ranges == {FOLLOWING: (0.4, 0.5)}
    assert inputs.drawn


@pytest.mark.parametrize(
    ("inputs", "said"),
    [
        ({SWAY: 0.5}, "inputs.runner.sway_m: 0.5; a number from 0 to 0.1 m"),
        ({SWAY: True}, "inputs.runner.sway_m: true; a number from 0 to 0.1 m"),
        ({"runner": {"sway_m": "5 cm"}}, "inputs.runner.sway_m: '5 cm'; a number from"),
        ({"runner.swey_m": 0.05}, "no such input; .*; did you mean 'runner.sway_m'"),
        ({"drwan": True}, "inputs.drwan: no such input; .*; did you mean 'drawn'"),
        ({"walker.sway_m": 0.05}, "inputs.walker.sway_m: no such input"),
        ({"drawn": "yes"}, "inputs.drawn: 'yes'; true or false"),
        ({"ranges": [1, 2]}, "inputs.ranges: a list; a table of ranges"),
        (
            {"ranges": {SWAY: [0.02, 0.2]}},
            "inputs.ranges.runner.sway_m: 0.02 to 0.2; two numbers w",
        ),
        ({"ranges": {SWAY: [0.08, 0.02]}}, "0.08 to 0.02; .* the lower one first"),
        ({"ranges": {SWAY: 0.02}}, "inputs.ranges.runner.sway_m: 0.02; two numbers"),
        ({SWAY: 0.02, "ranges": {SWAY: [0.0, 0.05]}}, "told, and a range of it as well; one of"),
        ({SWAY: 0.02, "runner": {"sway_m": 0.03}}, "inputs.runner.sway_m: twice; every input once"),
        ({INSIDE: 0.5}, "inputs.line.inside_share: 0.5, but field.lines makes it 0.7"),
        ({PULL: 0.2}, "inputs.line.pull: 0.2, but field.pull makes it 0.65"),
        (3, "inputs: 3; a table"),
    ],
)
def test_what_cannot_stand_there_is_refused_in_one_line(
    fen: Scenario, inputs: Any, said: str
) -> None:
    with pytest.raises(BadInput, match=said) as refused:
        changed(fen, inputs)
    assert len(refused.value.problems) == 1
    assert "brindle_fen.toml" in str(refused.value)


def test_nothing_said_is_nothing_told(fen: Scenario) -> None:
    assert fen.inputs.of_seed(3) == {}
    assert with_inputs_fixed(fen) is fen


def test_two_seeds_share_a_point_and_no_other_does(fen: Scenario) -> None:
    drawn = with_inputs_drawn(fen).inputs
    points = [drawn.of_seed(seed) for seed in range(1, 41)]
    assert all(points[i] == points[i + 1] for i in range(0, 40, 2))
    for key in assumed_inputs():
        assert len({point[key] for point in points}) == 20, key


def test_drawn_inputs_are_even_over_their_ranges(fen: Scenario) -> None:
    """32 points: in each of eight parts of every range lie about four, as a Sobol sequence has it."""
    drawn = with_inputs_drawn(changed(fen, {"ranges": {FOLLOWING: [0.4, 0.5]}})).inputs
    points = [drawn.of_seed(seed) for seed in range(1, 65, 2)]
    for key, (low, high) in drawn.free.items():
        share = np.array([(point[key] - low) / (high - low) for point in points])
        assert np.all((share >= 0) & (share < 1))
        assert np.all(np.bincount((8 * share).astype(int), minlength=8) == 4), key
    assert drawn.free[FOLLOWING] == (0.4, 0.5)


def test_a_told_or_narrowed_input_moves_no_other(fen: Scenario) -> None:
    plain = with_inputs_drawn(fen).inputs.of_seed(7)
    other = with_inputs_drawn(changed(fen, {SWAY: 0.02, "ranges": {FOLLOWING: [0.4, 0.5]}}))
    found = other.inputs.of_seed(7)
    assert found[SWAY] == 0.02
    assert 0.4 <= found[FOLLOWING] <= 0.5
    same = set(plain) - {SWAY, FOLLOWING}
    assert {key: plain[key] for key in same} == {key: found[key] for key in same}


def test_the_digest_of_an_arm_carries_the_inputs(fen: Scenario) -> None:
    arms = [fen, with_inputs_drawn(fen), with_inputs(fen, {SWAY: 0.02})]
    arms.append(with_inputs_drawn(arms[2]))
    assert len({digest_of(arm) for arm in arms}) == 4
    assert digest_of(with_inputs_fixed(arms[3])) == digest_of(arms[2])
    assert Scenario.from_json(arms[3].to_json()).inputs == arms[3].inputs


def test_the_share_on_the_inside_moves_only_who_takes_the_inside(fen: Scenario) -> None:
    few, many = (with_inputs(fen, {INSIDE: share}) for share in (0.3, 0.9))
    for seed in (1, 2):
        before, after = few.roster(seed), many.roster(seed)
        turn = int(np.flatnonzero([gate.kind == "turn" for gate in fen.strip.gates])[-1])
        inside = (before.choice[:, turn] == "inside", after.choice[:, turn] == "inside")
        assert inside[0].mean() < 0.45 < 0.75 < inside[1].mean()
        assert not (inside[0] & ~inside[1]).any()
        assert np.array_equal(before.cruise_m_s, after.cruise_m_s)
        assert np.array_equal(before.radius_m, after.radius_m)


def test_told_as_the_figures_say_is_the_same_people(fen: Scenario) -> None:
    """What is not the file's own, told with the value of its figure, changes no bit of the roster."""
    own = {key: figure.value for key, figure in assumed_inputs().items() if key != INSIDE}
    same = with_inputs(fen, own | {INSIDE: 0.7})
    for name, column in vars(fen.roster(4)).items():
        assert np.array_equal(column, getattr(same.roster(4), name)), name


def test_bodies_and_pull_follow_the_inputs(fen: Scenario) -> None:
    wide = with_inputs(fen, {BODY: 0.253, PULL: 0.2}).roster(1)
    assert wide.radius_m == pytest.approx(1.1 * fen.roster(1).radius_m)
    assert wide.pull.mean() == pytest.approx(0.2, abs=0.02)
    assert np.array_equal(wide.pull.argsort(), fen.roster(1).pull.argsort())


def test_shares_asked_for_by_a_study_are_no_longer_drawn(fen: Scenario) -> None:
    """Else the arm with three in ten inside would meet another share with every seed."""
    shares = {"inside": 0.3, "middle": 0.35, "outside": 0.35}
    arm = with_field_lines(with_inputs_drawn(fen), shares)
    told = {arm.inputs.of_seed(seed)[INSIDE] for seed in range(1, 9)}
    assert list(told) == [pytest.approx(0.3)]
    assert "inputs" not in with_field_lines(fen, shares).document
