"""Nobody is left out in silence: who stood and where, who did not arrive and why."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.answers.race.result import RaceResult
from simrun.engine.alone import nobody_alone
from simrun.engine.down import Down, run_with
from simrun.engine.run import Race, field_of, frames_of
from simrun.measure.left_out import LeftOut, Stood, left_out_of
from simrun.pages.left_out_words import left_out_words
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.races import outcome_of, packed, unpacked
from simrun.trials.store import Store

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"


@pytest.fixture(scope="module")
def day() -> Scenario:
    return simrun.read(DUAL)


def held_race(day: Scenario, runner: int, for_s: float) -> Race:
    """A race in which one runner is told to wait in the middle of it: a stand-in for a lock."""
    race = field_of(day, 1)
    race.advance(round(15.0 / race.step_s))
    until = race.steps_done + round(for_s / race.step_s)
    while race.steps_done < until:
        race.bodies["wait_s"][runner] = 1.0
        race.advance(2)
    race.bodies["wait_s"][runner] = 0.0
    return race.run()


def test_who_stands_for_long_is_found_with_the_place(day: Scenario) -> None:
    """Forty seconds, to the five seconds of the looks; and where, to a metre."""
    race = held_race(day, 4, 40.0)
    recording = frames_of(race, 1, nobody_alone(race.tape.crossing_s))
    found = left_out_of(recording)
    assert [one.who for one in found.stood] == [recording.roster.name[4]]
    (one,) = found.stood
    assert 30.0 <= one.seconds <= 40.0
    assert one.arrived
    still = recording.position_m[round(30.0 / 0.1), 4]
    assert np.hypot(*(recording.position_m[round(40.0 / 0.1), 4] - still)) < 0.5
    assert one.at_m == pytest.approx(float(still[0]), abs=1.0)
    assert one.who in left_out_words(found)


def test_nobody_is_told_of_where_everybody_gets_on(day: Scenario) -> None:
    """Standing at the line until the own gun is no fault, nor is arriving: nothing to say."""
    late = day.changed({"start.waves": 2, "start.wave_gap": 30})
    race = field_of(late, 1).run()
    recording = frames_of(race, 1, nobody_alone(race.tape.crossing_s))
    assert recording.crossing_s.max() > 100.0
    assert left_out_of(recording) == LeftOut(len(recording.roster), 0)
    assert left_out_words(left_out_of(recording)) == ""


def test_who_waits_behind_somebody_down_is_no_fault(day: Scenario) -> None:
    """The same wait with somebody on the ground is not told of, however long."""
    race = field_of(day, 1)
    race.watch.look(race.bodies, 1.0)
    down = run_with(race, Down(200.0, 0.5, 5.0, 60.0))
    assert (down.watch.stood_s < 20.0).all()


def test_the_page_says_how_many_and_why(day: Scenario, tmp_path: Path) -> None:
    """Cut short, some are under way: the answer says so, and its page."""
    recording = simrun.race(day.changed({"clock.limit": 95}), seed=2)
    missing = int(np.isnan(recording.crossing_s[:, -1]).sum())
    assert 0 < missing < len(recording.roster)
    result = RaceResult(recording, tmp_path, "us", gif=False)
    told = f"{missing} of 20 runners did not reach it (0 stood still, {missing} were still running"
    assert told in result.missing
    result.save()
    assert told in (tmp_path / "race.html").read_text("utf-8")
    stuck = np.isnan(recording.crossing_s[:, -1])
    stood = replace(recording, stood_s=np.where(stuck, 60.0, 0.0))
    told = f"({missing} stood still, 0 were still running"
    assert told in RaceResult(stood, tmp_path, "us", gif=False).missing


def test_a_study_says_it_over_all_its_races(day: Scenario, tmp_path: Path) -> None:
    """Two races of a store, one of them with a runner who stood for a minute and never came."""
    recording = simrun.race(day, seed=2)
    crossing = recording.crossing_s.copy()
    crossing[3, -1] = np.nan
    stood = replace(recording, crossing_s=crossing, stood_s=np.where(np.arange(20) == 3, 60.0, 0.0))
    good, bad = packed(outcome_of(recording)), packed(outcome_of(stood))
    assert unpacked(bad).stood_s[3] == 60.0
    with Store(tmp_path / "s.db", writing=True) as store:
        store.add_arms({"a": "{}"})
        store.add_races([("a", 1, good), ("a", 2, bad)])
    found = left_out_in(tmp_path / "s.db")
    assert (found.runners, found.missing, found.races, len(found.stood)) == (40, 1, 2, 1)
    line = left_out_words(left_out_in(tmp_path / "s.db"))
    assert "1 of 40 runners in 2 races did not reach it (1 stood still, 0 were" in line
    assert f"a runner of box {recording.roster.box[3]} (seed 2)" in line


def test_many_who_stood_are_counted_not_listed() -> None:
    """Five by name, the rest as a number."""
    stood = tuple(Stood(f"runner {i}", 10.0 * i, 25.0, True) for i in range(9))
    text = left_out_words(LeftOut(100, 0, stood))
    assert "9 did not move for 20 s" in text
    assert text.count("runner ") == 5
    assert "and 4 more" in text
