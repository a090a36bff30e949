"""The account of the time lost: of a runner alone, of one who stands, out of a file, place by place."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.base.errors import BadRecording
from simrun.course.station import progress_m
from simrun.engine.run import run_race
from simrun.engine.tracking import SETTING_OFF_S
from simrun.measure.crowd_places import crowd_figures
from simrun.measure.places import course_places, lost_by_place
from simrun.state.account import lost_so_far, passed_at
from simrun.state.recording import Recording
from simrun.state.tracks import FAR_M, places_m
from tests.helpers.worlds import LANE, scenario_of

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="module")
def dual() -> Recording:
    return simrun.race(simrun.read(SCENARIOS / "dual_meet.toml"), seed=2)


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Recording:
    """One runner, one box: nobody is near and no box is better."""
    return simrun.race(
        scenario_of(LANE, tmp_path_factory.mktemp("lane")).changed({"field.runners": 1})
    )


def test_a_runner_alone_loses_nothing(alone: Recording) -> None:
    """While setting off to half a note of the track, then to hundredths, at the marks nothing at all."""
    account = lost_so_far(alone)
    assert len(alone.roster) == 1
    assert np.abs(account.lost_s).max() < SETTING_OFF_S / 2
    assert np.abs(account.lost_s[account.place_m > 2.0]).max() < 0.02
    marks = lost_so_far(alone, alone.crossing_s[0])
    np.testing.assert_allclose(marks.lost_s[:, 0], 0.0, rtol=0, atol=1e-9)


def test_nothing_is_lost_at_the_gun_and_nothing_jumps(dual: Recording) -> None:
    """Nobody loses more seconds than pass; and at the gun there is nothing to lose."""
    account = lost_so_far(dual)
    for part in (account.box_s, account.line_s, account.traffic_s):
        np.testing.assert_array_equal(part[0], 0.0)
    passed = np.diff(account.times_s)[:, None]
    assert (np.diff(account.lost_s, axis=0) <= passed + 1e-9).all()
    assert np.isfinite(account.lost_s).all()


def test_who_is_held_at_the_line_loses_what_passes(dual: Recording) -> None:
    """A runner whom the frames leave standing for four seconds more has lost just these."""
    runner, later = 3, 40
    position, times = dual.position_m.copy(), dual.times_s
    position[later:, runner] = dual.position_m[:-later, runner]
    position[:later, runner] = dual.position_m[0, runner]
    crossing = dual.crossing_s.copy()
    crossing[runner] += times[later]
    held = replace(dual, position_m=position, crossing_s=crossing)
    before, after = lost_so_far(dual), lost_so_far(held)
    at = np.searchsorted(times, 5.0)
    assert after.traffic_s[at, runner] > 3.0
    moved = after.traffic_s[later:, runner] - before.traffic_s[:-later, runner]
    np.testing.assert_allclose(moved[50:], times[later], rtol=0, atol=1e-6)
    others = np.arange(len(dual.roster)) != runner
    np.testing.assert_array_equal(after.lost_s[:, others], before.lost_s[:, others])


def test_places_along_the_line_agree_with_the_recorded_crossings(dual: Recording) -> None:
    """From the frames alone, interpolated: within a hundredth of a second of the kernel's own times."""
    place = progress_m(dual.strip, dual.position_m)
    for c, mark in enumerate(dual.strip.checkpoints):
        for i in range(len(dual.roster)):
            way = np.nan_to_num(place[:, i], nan=np.inf)
            k = int(np.argmax(way >= mark.station_m))
            share = (mark.station_m - way[k - 1]) / (way[k] - way[k - 1])
            found = dual.times_s[k - 1] + share * (dual.times_s[k] - dual.times_s[k - 1])
            assert found == pytest.approx(dual.crossing_s[i, c], abs=0.01)


def test_the_account_is_in_the_file(dual: Recording, tmp_path: Path) -> None:
    """The tracks come back to the last bit, what was lost to what a centimetre is in time."""
    back = simrun.load(simrun.save(dual, tmp_path / "r.npz"))
    for name in ("at_m", "start_m", "leaves_s", "reached_ms"):
        kept, was = getattr(back.tracks, name), getattr(dual.tracks, name)
        np.testing.assert_array_equal(kept, was)
    before, after = lost_so_far(dual), lost_so_far(back)
    running = before.place_m > before.place_m[0] + 2.0
    off = np.abs(before.lost_s - after.lost_s)
    assert off[running].max() < 0.02
    np.testing.assert_array_equal(before.lost_s[-1], after.lost_s[-1])


def test_a_race_without_frames_has_no_account() -> None:
    """One clear line instead of nothing."""
    bare = run_race(simrun.read(SCENARIOS / "dual_meet.toml"), 1, frames=False)
    with pytest.raises(BadRecording, match="only the times"):
        lost_so_far(bare)


def test_who_stops_on_the_way_loses_on_and_on(dual: Recording) -> None:
    """With the marks not reached the seconds go on; behind the place nobody can tell (nan, no zero)."""
    runner, stop = 5, 300
    position, crossing = dual.position_m.copy(), dual.crossing_s.copy()
    position[stop:, runner] = position[stop, runner]
    crossing[runner, crossing[runner] > dual.times_s[stop]] = np.nan
    stopped = replace(dual, position_m=position, crossing_s=crossing)
    lost = lost_so_far(stopped).traffic_s[:, runner]
    np.testing.assert_allclose(np.diff(lost[stop + 1 :]), 0.1, rtol=0, atol=1e-9)
    split = lost_by_place(stopped)
    assert np.isfinite(split.traffic_s[runner, 0])
    assert np.isnan(split.traffic_s[runner, -1])


def test_the_places_follow_one_another_to_where_the_study_ends() -> None:
    """No gap, nothing twice, on every shipped course; a shorter study is cut where it ends."""
    for path in sorted(SCENARIOS.glob("*.toml")):
        strip = simrun.read(path).strip
        for until_m in (None, 333.0):
            standing, *rest = course_places(strip, until_m)
            assert standing.kind == "standing"
            assert rest[0].from_m == 0.0
            for one, other in pairwise(rest):
                assert one.to_m == other.from_m
                assert one.to_m > one.from_m
            assert rest[-1].to_m == (until_m or strip.checkpoints[-1].station_m)
            assert {place.kind for place in rest} <= {
                *("straight", "taper", "narrowing", "turn", "after")
            }


def test_the_places_of_the_farm_race() -> None:
    """By hand: a line of 60 m, the funnel, the meadow, the barn, the gate, the boardwalk for two."""
    strip = simrun.read(SCENARIOS / "ferry_meadow.toml").strip
    found = [(place.name, place.kind) for place in course_places(strip, 760.0)]
    assert found == [
        *(("standing", "standing"), ("start field", "straight"), ("headland", "taper")),
        *(("hay meadow", "straight"), ("barn corner", "turn"), ("orchard", "straight")),
        *(("gateway", "taper"), ("long pasture", "straight"), ("willow bend", "turn")),
        *(("sluice path", "taper"), ("boardwalk", "narrowing"), ("reed path", "after")),
    ]


def test_times_at_a_mark_are_the_recorded_ones(dual: Recording) -> None:
    """To the last bit, in the field and alone."""
    marks = np.array([mark.station_m for mark in dual.strip.checkpoints])
    passed = passed_at(dual, marks)
    np.testing.assert_array_equal(passed.field_s, dual.crossing_s)
    np.testing.assert_array_equal(passed.own_s, dual.alone_s)
    np.testing.assert_array_equal(passed.shortest_s, dual.shortest_s)
    np.testing.assert_array_equal(passed.best_s, dual.best_s)


def test_the_mirrored_course_gives_the_same_account(dual: Recording) -> None:
    """Left for right and right for left: how far along everybody is does not change by a bit."""
    strip, turn = dual.strip, np.array([1.0, -1.0])
    glass = replace(strip, left_m=strip.right_m * turn, right_m=strip.left_m * turn)
    there = progress_m(strip, dual.position_m)
    mirrored = progress_m(glass, dual.position_m * turn.astype(np.float32))
    np.testing.assert_array_equal(mirrored, there)


def test_nobody_comes_nearer_by_waiting(dual: Recording) -> None:
    """The furthest place never falls, and the seconds alone to it never fall either."""
    account = lost_so_far(dual)
    assert (np.diff(account.place_m, axis=0) >= 0).all()
    clock = np.fmin(account.times_s[:, None], dual.crossing_s[:, -1])
    alone = clock - account.traffic_s
    assert np.diff(alone, axis=0).min() > -1e-9


@pytest.mark.parametrize("first_m", [-2.3, -7.0, 0.0, 0.1, -20.6])
@pytest.mark.parametrize("depth_m", [0.0, 2.0, 3.3, 40.0])
@pytest.mark.parametrize("end_m", [1.0, 29.9, 30.0, 1150.0])
def test_the_places_of_a_track_are_in_order(first_m: float, depth_m: float, end_m: float) -> None:
    """Each once, from the hindmost row to the last mark, wherever the ranges of spacing meet."""
    places = places_m(first_m, first_m + depth_m, end_m)
    assert (np.diff(places) > 1e-7).all()
    assert places[0] == min(first_m, end_m)
    assert end_m - FAR_M <= places[-1] < end_m
    np.testing.assert_array_equal(np.round(1000 * places) / 1000, places)


def test_the_crowd_by_place_adds_up_to_what_the_others_cost(dual: Recording) -> None:
    """The queueing of all places is the field's mean traffic of the table at the last mark."""
    crowd = crowd_figures(dual)
    table = simrun.time_lost(dual)
    last = table[table.checkpoint == dual.strip.checkpoints[-1].name]
    assert crowd.by_place[:, 0].sum() == pytest.approx(crowd.queue_s, abs=1e-12)
    assert crowd.queue_s == pytest.approx(last.traffic_s.mean(), abs=1e-9)
    assert len(crowd.by_place) == len(course_places(dual.strip))


def test_who_is_held_at_the_line_queues_there(dual: Recording) -> None:
    """One of twenty left standing for four seconds more: a fifth of a second a runner, lost setting off, of
    which the slow seconds, which begin with the first stride, know nothing."""
    later = 40
    position, times = dual.position_m.copy(), dual.times_s
    position[later:, 3], position[:later, 3] = dual.position_m[:-later, 3], dual.position_m[0, 3]
    crossing = dual.crossing_s.copy()
    crossing[3] += times[later]
    before = crowd_figures(dual)
    after = crowd_figures(replace(dual, position_m=position, crossing_s=crossing))
    more = times[later] / len(dual.roster)
    assert after.by_place[0, 0] - before.by_place[0, 0] == pytest.approx(more, abs=0.01)
    assert after.queue_s - before.queue_s == pytest.approx(more, abs=0.01)
    assert after.slow_s == pytest.approx(before.slow_s, abs=0.02)
