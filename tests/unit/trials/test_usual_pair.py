"""The pair of races that tells the story: usual in both arms, and recorded for a replay."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.answers.tactic.run import run_tactic
from simrun.answers.tactic.search.tactic_steps import Budget
from simrun.base.errors import BadInput
from simrun.engine.run import run_race
from simrun.pictures.film.pair import check_pair
from simrun.scenario.reader import read
from simrun.state.recording_file import load
from simrun.trials.plan import Plan
from simrun.trials.races import PLACES, STOOD, TIMES, Outcome, packed
from simrun.trials.store import Store
from simrun.trials.usual_pair import median_pair, record_pair

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"
SEEDS = (7, 3, 5, 1, 9)


@pytest.fixture(scope="module")
def plan() -> Plan:
    calm = read(DUAL).changed({"clock.limit": 12})
    return Plan({"calm": calm, "fast": calm.changed({"teams.Millbrook.opening": 0.25})}, SEEDS)


def one_runner(seconds: float) -> Outcome:
    """A race of one runner and one mark."""
    whole = {name: np.zeros(1, dtype=np.int16) for name in ("team_index", "box", "row")}
    times = {name: np.full((1, 1), seconds) for name in (*TIMES, *PLACES)}
    stood = {name: np.zeros(1, dtype=np.float32) for name in STOOD}
    return Outcome(line=np.array(["inside"]), **whole, **times, **stood)


def kept(plan: Plan, folder: Path, **arms: list[float]) -> Path:
    """A store in which the arms have these figures, one a seed in the order of SEEDS."""
    path = folder / "races.db"
    with Store(path, writing=True) as store:
        store.add_arms(plan.texts)
        for arm, values in arms.items():
            races = zip(SEEDS, values, strict=True)
            store.add_races([(plan.digests[arm], s, packed(one_runner(v))) for s, v in races])
    return path


def seconds(race: Outcome) -> float:
    return float(race.crossing_s[0, 0])


def test_the_middle_seed_of_both_arms_and_of_their_difference(plan: Plan, tmp_path: Path) -> None:
    """Seed 5 is third of five in each arm and in the difference; seed 3 is so in one arm only."""
    store = kept(plan, tmp_path, calm=[10, 11, 12, 13, 14], fast=[11, 19, 15, 14, 21])
    assert median_pair(plan, store, "calm", "fast", seconds) == 5
    assert median_pair(plan, store, "fast", "calm", seconds) == 5


def test_a_seed_that_is_usual_in_both_arms_but_not_in_the_difference_is_passed_over(
    plan: Plan, tmp_path: Path
) -> None:
    """Seed 5 is the median of each arm and has the largest difference of all; 3 and 7 are nearer."""
    store = kept(plan, tmp_path, calm=[28, 19, 20, 29, 10], fast=[33, 24, 30, 34, 11])
    assert median_pair(plan, store, "calm", "fast", seconds) == 3


def test_a_seed_with_the_usual_difference_in_an_unusual_race_is_passed_over(
    plan: Plan, tmp_path: Path
) -> None:
    """Seed 9 has the median difference of 5, but is the slowest of both arms; seed 3 is usual."""
    store = kept(plan, tmp_path, calm=[10, 12, 13, 11, 90], fast=[13, 16, 19, 17, 95])
    assert median_pair(plan, store, "calm", "fast", seconds) == 3


def test_a_seed_without_a_figure_in_one_arm_is_left_out(plan: Plan, tmp_path: Path) -> None:
    """The seed in the middle has no time in one arm; of two equals the lower seed is taken."""
    store = kept(plan, tmp_path, calm=[10, 11, 12, 13, 14], fast=[20, 21, np.nan, 23, 24])
    assert median_pair(plan, store, "calm", "fast", seconds) == 1


def test_arms_that_are_not_there_are_refused(plan: Plan, tmp_path: Path) -> None:
    """One line, with the nearest name; and a study that was not run yet says so."""
    store = kept(plan, tmp_path, calm=[10, 11, 12, 13, 14])
    with pytest.raises(BadInput, match="did you mean 'calm'"):
        median_pair(plan, store, "clam", "fast", seconds)
    with pytest.raises(BadInput, match="run the study first"):
        median_pair(plan, store, "calm", "fast", seconds)


def test_the_two_races_are_recorded_and_fit_together(plan: Plan, tmp_path: Path) -> None:
    """The files hold the races of the arms with that seed, and may be shown side by side."""
    told: list[float] = []
    paths = record_pair((plan.arms["fast"], plan.arms["calm"]), 3, tmp_path / "story", told.append)
    better, worse = (load(path) for path in paths)
    check_pair(better, worse, None)
    again = run_race(plan.arms["fast"], 3)
    assert better.scenario == plan.arms["fast"]
    assert (better.seed, worse.seed) == (3, 3)
    assert np.abs(better.position_m - again.position_m).max() <= 0.0051
    assert told == [0.5, 1.0]


@pytest.mark.slow
def test_a_tactic_tells_its_story(tmp_path: Path) -> None:
    """The best and the worst of the openings and lines tried, same people, ready to be shown as a pair."""
    scenario = read(DUAL)
    found = run_tactic(scenario, tmp_path, None, Budget(1, (5,)), story=True, workers=1)
    written = found.save()
    assert [path.name for path in written[-2:]] == ["better.npz", "worse.npz"]
    better, worse = (load(path) for path in written[-2:])
    check_pair(better, worse, None)
    assert better.scenario != worse.scenario
