"""What a coach tries in the first ten minutes: open the course, cut the straight.

Two of nine trials are here. The others: mirror-image boxes (`properties/test_invariance.py`), the known
400 m alone (`test_one_runner.py`), extra metres and the measuring wheel (`test_geometry.py`), the same seed
twice (`properties/test_same_answer.py`), inside against outside in the crowd and strung out
(`test_common_practice.py`), "no difference that we can see" (`unit/test_study_statistics.py`, and below),
what is left out (`journeys/test_door.py`).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from simrun.pages.numbers import NOTHING_SEEN, difference
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import estimate
from tests.helpers.worlds import SHARP_TURN, field_race, scenario_of

SEEDS = range(1, 13)


def traffic_s(scenario: Scenario, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Seconds lost to traffic at the last checkpoint, and the box, of every runner: (N,), (N,)."""
    field = field_race(scenario, seed, frames=False)
    alone = field_race(scenario, seed, frames=False, alone=True)
    return (field.tape.crossing_s - alone.tape.crossing_s)[:, -1], field.roster.box


def day(straight_m: float, throat_m: float, folder: Path) -> Scenario:
    """The sharp-turn race day cut off after the throat: so long a straight, so wide a throat."""
    text = SHARP_TURN[: SHARP_TURN.index('[[course.pieces]]\npiece = "turn"')]
    text = text.replace("length = 150", f"length = {straight_m}")
    text = text.replace("width = 12", f"width = {throat_m}")
    marks = f'[[course.checkpoints]]\nname = "end"\nat = {straight_m + 130}\n'
    field = SHARP_TURN[SHARP_TURN.index("[field]") :]
    return scenario_of(text + marks + field, folder)


def outer_minus_inner_s(scenario: Scenario) -> tuple[float, float, float]:
    """What do the six outermost boxes lose beyond the six in the middle? Mean and 95 % interval."""
    differences = []
    for seed in SEEDS:
        traffic, box = traffic_s(scenario, seed)
        from_middle = np.abs(box - 12.5)
        differences.append(traffic[from_middle > 9].mean() - traffic[from_middle < 3].mean())
    array = np.array(differences)
    reach = stats.t.ppf(0.975, len(array) - 1) * array.std(ddof=1) / np.sqrt(len(array))
    return float(array.mean()), float(array.mean() - reach), float(array.mean() + reach)


def test_on_an_open_course_the_box_stops_mattering(tmp_path: Path) -> None:
    """As wide as the line everywhere: no difference between outer and inner boxes that twelve races can see,
    and none larger than half a second that they could have missed.

    common practice
    """
    mean, low, high = outer_minus_inner_s(day(150, 60, tmp_path))
    assert low < 0 < high, f"outer minus inner: {mean:.2f} s ({low:.2f} to {high:.2f})"
    assert max(-low, high) < 0.5


@pytest.mark.slow
def test_with_a_short_straight_the_box_matters_a_lot(tmp_path: Path) -> None:
    """50 m of straight before 12 m of throat against 400 m: the field loses more to traffic, and the
    outer boxes lose more against the inner ones.

    common practice
    """
    short, far = day(50, 12, tmp_path), day(400, 12, tmp_path)
    lost = [traffic_s(short, seed)[0].mean() - traffic_s(far, seed)[0].mean() for seed in SEEDS]
    reach = stats.t.ppf(0.975, len(lost) - 1) * np.std(lost, ddof=1) / np.sqrt(len(lost))
    assert np.mean(lost) - reach > 0, f"{np.mean(lost):.2f} +/- {reach:.2f} s"
    mean, low, high = outer_minus_inner_s(short)
    assert low > 0, f"outer minus inner: {mean:.2f} s ({low:.2f} to {high:.2f})"


def test_equal_boxes_of_equal_teams_cannot_be_told_apart(tmp_path: Path) -> None:
    """Two boxes that mirror each other about the middle line of a symmetric course, everybody's ability drawn
    alike: over twelve races the study says that there is nothing to be seen.

    computed
    """
    scenario = day(150, 12, tmp_path)
    boxes = (12, 13)
    differences = []
    for seed in SEEDS:
        lost, box = traffic_s(scenario, seed)
        differences.append(np.mean(lost[box == boxes[0]]) - np.mean(lost[box == boxes[1]]))
    assert difference(estimate(differences)) == NOTHING_SEEN
