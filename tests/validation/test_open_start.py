"""Open start data beside our starts: what they hold us to, and why nothing more is learnt from them, counted.

Gun and net times of a ten-mile road race: 8636 runners behind one line, in whole seconds, its width and rows
untold. Ours stand a few rows deep on a line of tens of metres. How evenly they leave the line can be held
against it; how long they waited cannot.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from simrun.answers.evidence.checks import RUNNERS
from simrun.answers.evidence.experiments.data import ten_mile_waits_s
from simrun.answers.evidence.experiments.flow import evenness, line_left_s, steady_flow_per_s
from simrun.answers.learn.seen_files import start_source
from simrun.answers.learn.words import Told, sentence_of
from simrun.scenario.reader import read
from simrun.sources import figure
from simrun.trials.learning.lesson import lesson_of
from simrun.trials.learning.seen_races import START_MAT, run_table, watched_day
from simrun.trials.races import marks_outcome

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ROPE = {"course.checkpoints": [{"name": "rope", "at": 20}], "course.landmarks": None}

Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def waits_s() -> Array:
    """Gun time less net time of every runner of the open data, (8636,), in order."""
    found = ten_mile_waits_s()
    if found is None:
        pytest.skip("the test extra with the open data is not installed")
    return found


def test_a_net_time_like_the_gun_time_was_not_taken(waits_s: Array) -> None:
    """869 of 8636 waited 0 s, and 26 waited 1 s: the nought are net times that are missing.

    open data set TenMileRace; computed
    """
    seconds, runners = np.unique(waits_s, return_counts=True)
    assert runners.sum() == 8636
    assert list(zip(seconds[:4], runners[:4], strict=True)) == [(0, 869), (1, 26), (2, 30), (3, 34)]


def test_their_wait_is_a_queue_of_minutes_and_ours_is_over_in_seconds(waits_s: Array) -> None:
    """Within 5 s 149 of the 7767 with a net time of their own had left; of ours everybody has.

    open data set TenMileRace; computed
    """
    own = waits_s[waits_s > 0]
    assert len(own) == 7767
    assert (own <= 5).sum() == 149
    assert np.median(own) > 200
    day = watched_day(read(SCENARIOS / "brindle_fen.toml").changed(ROPE))
    ours = marks_outcome(day.day, 1).crossing_s[:, day.mark(START_MAT)]
    assert ours.max() < 5.0


@pytest.mark.parametrize("row_gap_m", [0.7, 1.0])
def test_a_deep_start_of_ours_leaves_the_line_as_evenly(row_gap_m: float) -> None:
    """Count against time is a straight line, R2 0.999 and more, and is not where nobody minds anybody.

    open data set TenMileRace, 8636 runners, R2 above 0.999; computed
    """
    published = figure("crowd.gun_straightness")
    assert published.holds(evenness(line_left_s(RUNNERS, row_gap_m)))
    assert not published.holds(evenness(line_left_s(RUNNERS, row_gap_m, alone=True)))


def test_their_rate_would_tell_the_width_that_nobody_tells() -> None:
    """14.6 runners/s are a road of 12 m where rows stand 0.7 m apart, and of 15 m where they stand 1 m apart.

    Neither is told with the data: any following time gives that rate on some road. computed
    """
    rate = figure("crowd.gun_rate_per_s").value
    width_m = [4.0 * rate / steady_flow_per_s(line_left_s(RUNNERS, gap_m)) for gap_m in (0.7, 1.0)]
    assert width_m == pytest.approx([12.0, 15.0], abs=1.0)


@pytest.mark.slow
def test_learning_leaves_it_out_and_says_so(waits_s: Array, tmp_path: Path) -> None:
    """Fed in as gun and net times of the fen, no mix of the inputs gives it: it is named, and left out.

    open data set TenMileRace; our own requirement
    """
    day = read(SCENARIOS / "brindle_fen.toml").changed(ROPE)
    watched = watched_day(day)
    (tmp_path / "starts.csv").write_text(
        "gun,net\n" + "".join(f"{600 + wait:.0f},600\n" for wait in waits_s), "utf-8"
    )
    table = run_table(watched, 200, tmp_path / "races.db", workers=1)
    lesson = lesson_of(table, [start_source(str(tmp_path / "starts.csv"))])
    assert lesson.used == ()
    assert not lesson.is_learnt
    said = sentence_of(Told(day, lesson, (), (), ""))
    assert said.startswith("Left out: gun and net times, which no mix of the inputs gives.")
