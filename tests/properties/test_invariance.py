"""What must not matter does not matter: mirror, order of the runners, where the course lies."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from simrun.course.strip import Place
from simrun.engine.field import stand_m
from simrun.engine.run import Race
from simrun.scenario.reader import read
from simrun.tactics.margins import own_margins
from tests.helpers.worlds import CRUSH, SHARP_TURN, field_race, glass_of, rows_of, scenario_of

SHIPPED = Path(__file__).parents[2] / "scenarios"


@pytest.mark.parametrize("name", ["sharp turn", "crush", "ferry_meadow", "ostrel_common"])
def test_a_mirrored_course_gives_the_mirrored_race(name: str, tmp_path: Path) -> None:
    """Is the race on the mirrored course the mirrored race, to the last bit?"""
    file = SHIPPED / f"{name}.toml"
    text = CRUSH if name == "crush" else SHARP_TURN
    scenario = read(file) if file.exists() else scenario_of(text, tmp_path)
    scenario = scenario.changed({"clock.limit": 150})
    roster = scenario.roster(4)
    stand = stand_m(scenario.start_line, roster)
    left, right = own_margins(scenario.strip, roster)
    seen = Race(scenario, roster, stand, (left, right)).run()
    turn = np.array([1.0, -1.0])
    glass = glass_of(scenario)
    other = Race(glass, roster, stand * turn, (right, left)).run()
    assert seen.tape.overlap[0] > 0, "nobody touched anybody: the test would prove little"
    np.testing.assert_array_equal(seen.tape.position * turn.astype(np.float32), other.tape.position)
    np.testing.assert_array_equal(seen.tape.crossing_s, other.tape.crossing_s)
    np.testing.assert_array_equal(seen.bodies["reserve_m"], other.bodies["reserve_m"])


@pytest.mark.parametrize("text", [SHARP_TURN, CRUSH], ids=["sharp turn", "crush"])
def test_the_order_of_the_runners_does_not_matter(text: str, tmp_path: Path) -> None:
    """Renumbered runners run the same race, to the last bit, also where many touch at once."""
    scenario = scenario_of(text, tmp_path).changed({"clock.limit": 120})
    roster = scenario.roster(2)
    order = np.random.default_rng(0).permutation(len(roster))
    stand = stand_m(scenario.start_line, roster)
    left, right = own_margins(scenario.strip, roster)
    first = Race(scenario, roster, stand, (left, right)).run()
    other = Race(scenario, rows_of(roster, order), stand[order], (left[order], right[order])).run()
    assert first.tape.overlap[0] > 0, "nobody touched anybody: the test would prove little"
    np.testing.assert_array_equal(first.tape.position[:, order], other.tape.position)
    for column in ("x", "y", "speed", "heading_x", "heading_y", "reserve_m"):
        np.testing.assert_array_equal(first.bodies[column][order], other.bodies[column])
    np.testing.assert_array_equal(first.tape.crossing_s[order], other.tape.crossing_s)


def test_where_the_course_lies_does_not_matter(tmp_path: Path) -> None:
    """A shifted and turned origin changes no bit of the race, only where it is shown."""
    scenario = scenario_of(SHARP_TURN, tmp_path).changed({"clock.limit": 60})
    moved_strip = replace(scenario.strip, place=Place((1234.5, -678.9), 0.7))
    moved = SimpleNamespace(
        strip=moved_strip,
        clock=scenario.clock,
        start_line=scenario.start_line,
        roster=scenario.roster,
    )
    here = field_race(scenario, 1)
    there = field_race(moved, 1)  # type: ignore[arg-type]
    np.testing.assert_array_equal(here.tape.position, there.tape.position)
    shown = moved_strip.to_world(there.tape.position[-1].astype(float))
    back = (shown - np.array([1234.5, -678.9])) @ np.array(
        [[np.cos(0.7), -np.sin(0.7)], [np.sin(0.7), np.cos(0.7)]]
    )
    np.testing.assert_allclose(back, here.tape.position[-1], atol=1e-9)
