"""What was learnt: drawn all together in the place of ranges, by every command; spoilt files are refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.engine.field import settings_for
from simrun.scenario.changes.changes_inputs import (
    with_inputs,
    with_inputs_drawn,
    with_inputs_fixed,
    with_learnt,
    without_learnt,
)
from simrun.scenario.changes.changes_people import with_field_lines
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.learnt_sample import learnt_text
from simrun.sources.assumed import INSIDE
from simrun.trials.hanging.radial_design import BASE, row_of
from simrun.trials.plan import digest_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FOLLOWING, SWAY = "runner.following_time_s", "runner.sway_m"
KEYS = (FOLLOWING, INSIDE)
DRAWS = np.array([[0.40, 0.70], [0.42, 0.66], [0.44, 0.62], [0.46, 0.58]])
FILE = "fen_learnt.csv"


@pytest.fixture(scope="module")
def fen() -> Scenario:
    return read(SCENARIOS / "brindle_fen.toml")


@pytest.fixture(scope="module")
def learnt(fen: Scenario) -> Scenario:
    return with_learnt(fen, FILE, learnt_text(KEYS, DRAWS))


def test_a_race_meets_one_draw_of_all_of_them(learnt: Scenario) -> None:
    """Seeds 1 and 2 the first, and so on round: never one input of one draw and one of another."""
    drawn = with_inputs_drawn(learnt)
    for seed in range(1, 11):
        found = drawn.inputs.of_seed(seed)
        assert [found[key] for key in KEYS] == list(DRAWS[(seed - 1) // 2 % 4])
        assert settings_for(drawn, seed).following_time_s == found[FOLLOWING]


def test_what_was_not_learnt_is_drawn_as_before(fen: Scenario, learnt: Scenario) -> None:
    plain, found = (with_inputs_drawn(day).inputs.of_seed(7) for day in (fen, learnt))
    assert {k: v for k, v in plain.items() if k not in KEYS} == {
        k: v for k, v in found.items() if k not in KEYS
    }


def test_fixed_inputs_are_the_middle_of_what_was_learnt(learnt: Scenario) -> None:
    """One race, and a study with inputs fixed, run at the medians and not at the figures' own values."""
    for day in (learnt, with_inputs_fixed(with_inputs_drawn(learnt))):
        assert day.inputs.of_seed(5) == pytest.approx({FOLLOWING: 0.43, INSIDE: 0.64})
    turn = [gate.kind for gate in learnt.strip.gates].index("turn")
    shares = [np.mean(learnt.roster(seed).choice[:, turn] == "inside") for seed in range(1, 21)]
    assert np.mean(shares) == pytest.approx(0.64, abs=0.03)


def test_what_is_told_is_told(learnt: Scenario) -> None:
    told = with_inputs_drawn(with_inputs(learnt, {FOLLOWING: 0.5}))
    assert {told.inputs.of_seed(seed)[FOLLOWING] for seed in range(1, 9)} == {0.5}
    shares = {"inside": 0.3, "middle": 0.35, "outside": 0.35}
    arm = with_field_lines(learnt, shares)
    assert arm.inputs.of_seed(1)[INSIDE] == pytest.approx(0.3)


def test_moved_one_by_one_they_stay_within_what_was_learnt(learnt: Scenario) -> None:
    assert learnt.inputs.free[FOLLOWING] == (0.40, 0.46)
    assert learnt.inputs.free[SWAY] == (0.0, 0.1)
    for number in range(1, 6):
        assert 0.40 <= row_of(learnt.inputs, number).points[BASE][FOLLOWING] <= 0.46


def test_forgotten_it_is_the_day_as_it_was(fen: Scenario, learnt: Scenario) -> None:
    """So that the same races are found again, whatever was learnt in between."""
    again, plain = (with_inputs_drawn(without_learnt(day)) for day in (learnt, fen))
    assert digest_of(again) == digest_of(plain)
    assert digest_of(with_inputs_drawn(learnt)) != digest_of(plain)
    assert Scenario.from_json(learnt.to_json()).inputs == learnt.inputs


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"{FOLLOWING}\n", "inputs.learnt: 0 draws; 1 to 1000"),
        (f"{FOLLOWING}\n" + "0.4\n" * 1001, "1001 draws; 1 to 1000"),
        ("runner.folowing_time_s\n0.4\n", "'runner.folowing_time_s'; .* once; did you mean"),
        (f"{FOLLOWING},{FOLLOWING}\n0.4,0.4\n", "every column .* once"),
        (f"{FOLLOWING},{SWAY}\n0.4\n", "line 2: 1 cells; 2, one a figure"),
        (f"{FOLLOWING}\n4\n", f"line 2, column {FOLLOWING}: '4'; a number from 0.33 to 0.6"),
        (f"{FOLLOWING}\nnan\n", "'nan'; a number from"),
    ],
)
def test_a_spoilt_file_is_one_line(fen: Scenario, text: str, said: str) -> None:
    with pytest.raises(BadInput, match=said) as refused:
        with_learnt(fen, FILE, text)
    assert len(refused.value.problems) == 1


def test_a_file_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    text = (SCENARIOS / "dual_meet.toml").read_text("utf-8")
    (tmp_path / "day.toml").write_text(f'{text}\n[inputs]\nlearnt = "{FILE}"\n', "utf-8")
    with pytest.raises(
        BadInput, match=r"inputs\.learnt: 'fen_learnt\.csv': no such file"
    ) as refused:
        read(tmp_path / "day.toml")
    assert len(refused.value.problems) == 1


def test_a_range_that_was_narrowed_since_asks_to_learn_again(fen: Scenario) -> None:
    day = fen.changed({"inputs": {"ranges": {FOLLOWING: [0.41, 0.45]}}})
    with pytest.raises(BadInput, match=r"but learnt was 0\.4 to 0\.46; learn again"):
        with_learnt(day, FILE, learnt_text(KEYS, DRAWS))
