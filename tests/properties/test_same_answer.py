"""The same scenario, seed and version give the same bits: twice, in another process, in other bites."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.engine.field import stand_m
from simrun.engine.run import alone_runs, field_of, run_race
from simrun.scenario.reader import read
from simrun.state.recording import Recording
from tests.helpers.worlds import SHARP_TURN, field_race, scenario_of

ROOT = Path(__file__).parents[2]
FERRY = ROOT / "scenarios" / "ferry_meadow.toml"
ARRAYS = ["times_s", "position_m", "speed_m_s", "wished_m_s", "crossing_s", "reserve_m"]
ARRAYS += ["alone_s", "shortest_s", "best_s", "best_box"]


def minute(seed: int = 5) -> Recording:
    """The first minute at Ferry Meadow with everything that is measured against."""
    return simrun.race(read(FERRY).changed({"clock.limit": 60}), seed=seed)


def digest(recording: Recording) -> str:
    """A digest of every bit of a recording; all nans are the same nan."""
    found = hashlib.sha256()
    for name in ARRAYS:
        values = getattr(recording, name)
        found.update(np.where(np.isnan(values), -1.0, values).tobytes())
    found.update(np.float64(recording.peak_overlap).tobytes())
    return found.hexdigest()


@pytest.mark.slow
def test_another_process_gives_the_same_bits() -> None:
    """Two fresh processes, with different orders of their sets, and this one: one digest."""
    code = f"from {__name__} import digest, minute; print(digest(minute()))"
    seen = {digest(minute())}
    for hash_seed in ("1", "2"):
        told = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": str(ROOT)}
        done = subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, env=told, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stderr
        seen.add(done.stdout.strip())
    assert len(seen) == 1


def test_alone_runs_beside_the_race_give_the_same_bits() -> None:
    """On threads of their own or one after the other, tracks too, and in a race for places."""
    day = read(ROOT / "scenarios" / "dual_meet.toml")
    for racing in ("off", "on"):
        told = day.changed({"field.racing": racing})
        one, other = (run_race(told, 7, threads=threads) for threads in (False, True))
        assert digest(one) == digest(other)
        np.testing.assert_array_equal(one.raced_s, other.raced_s)
        for name in ("at_m", "start_m", "leaves_s", "reached_ms"):
            np.testing.assert_array_equal(getattr(one.tracks, name), getattr(other.tracks, name))


def test_stopped_no_alone_run_goes_on() -> None:
    """Ctrl-C in the race ends the alone-runs as well, on whatever thread: nobody has arrived in them."""
    race = field_of(read(FERRY), 5, frames=False)
    own = (race.ways.margin_left, race.ways.margin_right)
    stand = stand_m(race.scenario.start_line, race.roster)
    runs = alone_runs(race.scenario, race.roster, stand, own, race.settings)

    def stopped() -> None:
        raise KeyboardInterrupt

    before = threading.active_count()
    with pytest.raises(KeyboardInterrupt):
        runs.alone(threads=True, beside=stopped)
    assert threading.active_count() == before
    assert all(np.isnan(way.tape.crossing_s[:, -1]).all() for way in runs.ways)


def test_another_seed_gives_another_race() -> None:
    """The digest can tell races apart."""
    assert digest(minute(5)) != digest(minute(6))


def test_the_same_race_twice(tmp_path: Path) -> None:
    """Nothing is left behind by a race that the next one meets."""
    scenario = scenario_of(SHARP_TURN, tmp_path).changed({"clock.limit": 60})
    one, _, two = (field_race(scenario, seed) for seed in (7, 8, 7))
    np.testing.assert_array_equal(one.tape.position, two.tape.position)
    np.testing.assert_array_equal(one.bodies["x"], two.bodies["x"])


def test_the_bites_do_not_matter(tmp_path: Path) -> None:
    """Step by step, in bites of 7, or all at once, with frames or without: the same race."""
    scenario = scenario_of(SHARP_TURN, tmp_path).changed({"clock.limit": 45})
    whole = field_race(scenario, 3)
    for bite in (1, 7):
        race = field_of(scenario, 3)
        while not race.is_over:
            race.advance(bite)
        np.testing.assert_array_equal(race.bodies["x"], whole.bodies["x"])
        np.testing.assert_array_equal(race.bodies["y"], whole.bodies["y"])
        np.testing.assert_array_equal(race.tape.position, whole.tape.position)
    blind = field_race(scenario, 3, frames=False)
    np.testing.assert_array_equal(blind.tape.crossing_s, whole.tape.crossing_s)


def test_a_race_read_and_stopped_half_way_is_the_same_race(tmp_path: Path) -> None:
    """A shorter limit cuts the race off and changes nothing before."""
    scenario = scenario_of(SHARP_TURN, tmp_path)
    long, short = (field_race(scenario.changed({"clock.limit": s}), 3) for s in (45, 30))
    kept = short.steps_done // short.frame_every
    np.testing.assert_array_equal(long.tape.position[:kept], short.tape.position[:kept])
