"""The handbook's word on a line: the figures of the day, and what `simrun estimate` says of the same ones."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from simrun.answers.estimate.run import run_estimate
from simrun.desk.work.first_estimate import figures_of_day, first_estimate
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[3] / "scenarios"


def test_the_figures_are_those_of_the_day() -> None:
    """By hand, from the text of Brindle Fen: 14 boxes of 2.5 m, a gap of 4 m at 175 m, 95 m of drove."""
    told = figures_of_day(read(SCENARIOS / "brindle_fen.toml"))
    assert told is not None
    assert (told.width_m, told.boxes, told.runners, told.abreast) == (35.0, 14, 7, 3)
    assert (told.straight_m, told.throat_m, told.offset_m) == (
        pytest.approx(175, abs=0.01),
        4.0,
        0.0,
    )
    assert (told.right, told.turn_after_m) == (True, pytest.approx(95, abs=0.1))
    assert (told.turn_deg, told.radius_m) == (pytest.approx(90), 2.0)
    assert not told.outside, "girls' times lie inside of the sample"
    slower = replace(told, mean_s=1500.0)
    assert [name for name, *_ in slower.outside] == ["mean_s"]


def test_it_says_what_the_estimate_says(tmp_path: Path) -> None:
    """The same model, box by box; of a turned line the throat is off the middle: 175 sin(1 deg) m."""
    day = read(SCENARIOS / "brindle_fen.toml").changed({"start.tilt": 1.0})
    told, found = figures_of_day(day), first_estimate(day)
    assert told is not None
    assert found is not None
    assert told.offset_m == pytest.approx(175 * math.sin(math.radians(1)), abs=0.01)
    table = run_estimate(told, 11, tmp_path).costs
    assert found["spread_s"] == round(float(table.values["cost_s"][:, 0].std()), 1)
    assert [found[key] for key in ("bowed", "waves", "closed", "women")] == [False] * 3 + [True]
    waves = first_estimate(
        day.changed({"start.waves": 2, "start.wave_gap": 30, "start.empty": [14]})
    )
    assert waves is not None
    assert (waves["waves"], waves["closed"]) == (True, True)
    assert found["worst"] == 1 + int(table.values["cost_s"][:, 0].argmax())
    mirrored = replace(told, offset_m=-told.offset_m)
    assert run_estimate(mirrored, 11, tmp_path).costs.values["cost_s"][0, 0] != pytest.approx(
        table.values["cost_s"][0, 0], abs=0.01
    )


def test_a_line_that_is_moved_has_the_throat_further_to_the_other_side() -> None:
    """Two metres to the left on ground that is wider than its line: the throat, straight ahead before, lies
    two metres to the right."""
    day = read(SCENARIOS / "brindle_fen.toml").changed({"course.pieces.1.width": 45.0})
    moved = figures_of_day(day.changed({"start.sideways": "2 m"}))
    assert moved is not None
    assert moved.offset_m == pytest.approx(2.0, abs=1e-6)


def test_a_course_without_a_narrowing_has_none() -> None:
    """The handbook knows nothing of a line before open ground."""
    day = read(SCENARIOS / "brindle_fen.toml")
    assert first_estimate(day.changed({"course.pieces.2.width": 36.0})) is None


def test_a_turn_right_behind_the_narrowing_is_outside() -> None:
    """It begins where the narrowing ends; the estimate says so, and is one."""
    none: dict[str, object] = {"course.checkpoints": [], "course.landmarks": []}
    day = read(SCENARIOS / "brindle_fen.toml").changed({"course.pieces.3.length": 0.1, **none})
    told, found = figures_of_day(day), first_estimate(day)
    assert told is not None
    assert found is not None
    assert ("turn_after_m", 1.0) in [(name, value) for name, value, *_ in told.outside]
    assert found["outside"]
