"""What a study keeps of a race: the same numbers as the race itself, in bytes and back."""

from __future__ import annotations

import io
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadRecording, CannotSimulate
from simrun.engine.batch.together import ENGINES
from simrun.engine.run import run_race
from simrun.engine.set_back import BY_PLAN, SetBack
from simrun.measure.loss import time_lost
from simrun.scenario.changes.changes_behaviour import with_behaviour
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.plan import text_of
from simrun.trials.races import Outcome, goes_together, packed, race_outcome, run_group, unpacked

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"

FERRY = DUAL.with_name("ferry_meadow.toml")


@pytest.fixture(scope="module")
def dual() -> Scenario:
    return read(DUAL)


@pytest.fixture(scope="module")
def outcome(dual: Scenario) -> Outcome:
    return race_outcome(dual.changed({"clock.limit": 70}), 3)


def same(one: Outcome, other: Outcome) -> bool:
    for field in fields(Outcome):
        np.testing.assert_array_equal(getattr(one, field.name), getattr(other, field.name))
    return True


def test_an_outcome_is_the_race(dual: Scenario, outcome: Outcome) -> None:
    """Times and places as `run_race` and `time_lost` have them; some did not arrive in 70 s."""
    recording = run_race(dual.changed({"clock.limit": 70}), 3)
    for name in ("crossing_s", "alone_s", "shortest_s", "best_s"):
        np.testing.assert_array_equal(getattr(outcome, name), getattr(recording, name))
    table = time_lost(recording)
    place = table["place"].astype(float).to_numpy(na_value=np.nan)
    lost = table["places_lost"].astype(float).to_numpy(na_value=np.nan)
    np.testing.assert_array_equal(outcome.place.ravel(), place)
    np.testing.assert_array_equal((outcome.place - outcome.clear_place).ravel(), lost)
    assert list(outcome.line) == list(recording.roster.line)
    assert np.isnan(outcome.crossing_s).any()
    assert np.isfinite(outcome.crossing_s).any()


def test_to_bytes_and_back(outcome: Outcome) -> None:
    """Every number, nan too; the bytes are one npy array that needs no pickle."""
    assert same(unpacked(packed(outcome)), outcome)
    table = np.load(io.BytesIO(packed(outcome)), allow_pickle=False)
    assert len(table) == len(outcome.box)


def test_only_the_watched_team_has_times_alone_and_they_are_the_same_bits(
    dual: Scenario, outcome: Outcome
) -> None:
    """The field is the whole field; the others' times alone are nan."""
    day = dual.changed({"clock.limit": 70})
    watched = race_outcome(day, 3, "Millbrook")
    ours = day.roster(3).team == "Millbrook"
    assert 0 < ours.sum() < len(ours)
    for name in ("crossing_s", "place", "box", "row", "line"):
        np.testing.assert_array_equal(getattr(watched, name), getattr(outcome, name))
    assert np.isnan(watched.clear_place).all(), "no order of ability out of one team"
    for name in ("alone_s", "shortest_s", "best_s"):
        np.testing.assert_array_equal(getattr(watched, name)[ours], getattr(outcome, name)[ours])
        assert np.isnan(getattr(watched, name)[~ours]).all()


def test_the_best_box_is_the_same_whoever_is_watched() -> None:
    """Boxes across sixty metres, of which a middle one is best: found from the whole field's median."""
    day = read(FERRY).changed({"clock.limit": 45})
    whole, watched = race_outcome(day, 1), race_outcome(day, 1, "Alderbrook")
    ours = day.roster(1).team == "Alderbrook"
    assert np.isfinite(whole.best_s[ours]).any()
    np.testing.assert_array_equal(watched.best_s[ours], whole.best_s[ours])


def test_damaged_bytes_are_one_line(outcome: Outcome) -> None:
    """Cut anywhere, or with a head that claims far more than is there: never a crash, never a wrong race."""
    good = packed(outcome)
    for end in [0, 3, 9, 60, 200, len(good) // 2, len(good) - 1]:
        with pytest.raises(BadRecording, match="damaged"):
            unpacked(good[:end])
    assert b"'shape': (20,)" in good
    claims = good.replace(b"'shape': (20,)", b"'shape': (99,)")
    with pytest.raises(BadRecording, match="damaged"):
        unpacked(claims)
    strange = io.BytesIO()
    np.save(strange, np.arange(5))
    with pytest.raises(BadRecording, match="damaged"):
        unpacked(strange.getvalue())


@pytest.mark.parametrize("engine", ENGINES)
def test_a_race_that_cannot_be_run_names_its_arm_and_seed(
    dual: Scenario, engine: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which of a thousand races was it? Run together or one by one, before any card is needed."""

    def refuse(*_: object, **__: object) -> None:
        raise CannotSimulate("too dense to place")

    monkeypatch.setattr("simrun.trials.races.field_stages", refuse)
    with pytest.raises(CannotSimulate, match="seed 7: too dense to place"):
        run_group({"a": text_of(dual)}, (("a", 7),), engine=engine)


def test_which_races_are_run_one_by_one(dual: Scenario) -> None:
    """Those of a crowd looked at, of somebody set back, watched at marks, or by a behaviour of one's own."""
    own = with_behaviour(dual, {"word": "mine", "digest": "abc"})
    late = SetBack("Alderbrook", 8.0, BY_PLAN)
    assert goes_together(dual, text_of(dual, from_best=True), crowd=False)
    assert not goes_together(dual, text_of(dual), crowd=True)
    assert not goes_together(own, text_of(own), crowd=False)
    for alone in (text_of(dual, late), text_of(dual, at_marks=True)):
        assert not goes_together(dual, alone, crowd=False)
