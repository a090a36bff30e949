"""Races to learn from: a mark at every named place, where across it everybody passes, kept and read again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simrun.engine.run import run_race
from simrun.measure.crowd import across_shares
from simrun.scenario.changes.changes_inputs import with_learnt
from simrun.scenario.reader import read
from simrun.scenario.tables.learnt_sample import learnt_text
from simrun.sources.assumed import assumed_inputs
from simrun.trials.learning.seen_races import (
    START_MAT,
    Table,
    Watched,
    run_table,
    watched_day,
)
from simrun.trials.races import marks_outcome, packed, unpacked

SCENARIOS = Path(__file__).parents[3] / "scenarios"
DUAL = SCENARIOS / "dual_meet.toml"


@pytest.fixture(scope="module")
def dual() -> Watched:
    return watched_day(read(DUAL), 1000.0)


@pytest.fixture(scope="module")
def table(dual: Watched, tmp_path_factory: pytest.TempPathFactory) -> Table:
    return run_table(dual, 6, tmp_path_factory.mktemp("races") / "races.db", workers=1)


def test_every_named_place_has_a_mark_and_none_has_two() -> None:
    day = read(SCENARIOS / "brindle_fen.toml")
    watched = watched_day(day, 1000.0)
    own = {mark.name for mark in day.strip.checkpoints + day.strip.landmarks}
    assert own < set(watched.marks)
    assert watched.marks[0] == START_MAT
    assert "pump corner, apex" in watched.corners
    stations = [mark.station_m for mark in watched.day.strip.checkpoints]
    apexes = [i for i, name in enumerate(watched.marks) if name in watched.corners]
    assert np.all(np.diff(np.delete(stations, apexes)) >= 1.0)
    assert watched.width_m[watched.mark("hedge gap")] == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize(
    "name", ["sallow_heath", pytest.param("ostrel_common", marks=pytest.mark.slow)]
)
def test_laps_and_drawings_are_watched_too(name: str) -> None:
    watched = watched_day(read(SCENARIOS / f"{name}.toml"), 1000.0)
    assert len(set(watched.marks)) == len(watched.marks)


def test_no_two_races_meet_the_same_inputs(table: Table) -> None:
    assert table.inputs.shape == (6, len(assumed_inputs()))
    assert ((table.inputs >= 0) & (table.inputs <= 1)).all()
    assert len(np.unique(table.inputs, axis=0)) == 6


def test_what_was_learnt_before_does_not_change_the_races(dual: Watched) -> None:
    key = "runner.following_time_s"
    day = with_learnt(read(DUAL), "x.csv", learnt_text([key], np.array([[0.4]])))
    assert watched_day(day, 1000.0).day.to_json() == dual.day.to_json()


def test_where_everybody_passes_is_kept_and_read_again(dual: Watched, table: Table) -> None:
    race = marks_outcome(dual.day, 1)
    again = unpacked(packed(race))
    assert race.across is not None
    assert again.across is not None
    assert np.allclose(again.across, race.across, atol=1e-6, equal_nan=True)
    assert np.array_equal(again.crossing_s, table.races[0].crossing_s, equal_nan=True)
    assert np.isnan(again.alone_s).all()


def test_where_across_is_that_of_the_places() -> None:
    """At the line everybody passes where they stand; mirrored places are mirrored shares; 0 is the left."""
    day = watched_day(read(DUAL), 1000.0).day
    recording = run_race(day, 1)
    shares = across_shares(recording)
    order = np.argsort(recording.position_m[0, :, 1])[::-1]
    at_line = shares[order, 0]
    assert np.all((shares[np.isfinite(shares)] > -0.01) & (shares[np.isfinite(shares)] < 1.01))
    assert np.corrcoef(at_line, np.arange(len(order)))[0, 1] > 0.97
    left, right = recording.strip.left_m, recording.strip.right_m
    cut = recording.strip.checkpoint_cuts()[0]
    place = left[cut] + 0.25 * (right[cut] - left[cut])
    still = np.broadcast_to(place.astype(np.float32), recording.position_m.shape)
    found = across_shares(replace(recording, position_m=np.ascontiguousarray(still)))
    assert found[:, 0] == pytest.approx(0.25, abs=1e-5)
