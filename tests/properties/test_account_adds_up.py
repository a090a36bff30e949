"""The account adds up: its parts are the whole, its places are its parts, its marks are the tables'."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import simrun
from simrun.measure.places import lost_by_place
from simrun.state.account import lost_so_far
from simrun.state.recording import Recording

FOLDER = Path(__file__).parents[2] / "scenarios"
DAYS = {
    "dual_meet": {},
    "ferry_meadow": {"clock.limit": 110},
    "ostrel_common": {"clock.limit": 110},
}


@pytest.fixture(scope="module", params=DAYS)
def recording(request: pytest.FixtureRequest) -> Recording:
    day = simrun.read(FOLDER / f"{request.param}.toml").changed(DAYS[request.param])
    return simrun.race(day, seed=3)


def at_the_marks(recording: Recording) -> dict[str, np.ndarray]:
    """What the account says at the very moments of the crossings, part by part, (N, C)."""
    crossing = recording.crossing_s
    names = ("box", "line", "traffic", "racing", "lost")
    found = {name: np.full(crossing.shape, np.nan) for name in names}
    moments = np.unique(crossing[np.isfinite(crossing)])
    account = lost_so_far(recording, moments)
    for i, c in np.argwhere(np.isfinite(crossing)):
        at = np.searchsorted(moments, crossing[i, c])
        for name, values in found.items():
            values[i, c] = getattr(account, f"{name}_s")[at, i]
    return found


def test_at_every_mark_the_account_is_the_table(recording: Recording) -> None:
    """Every part, every runner, every mark, to 1e-6 s: the exact crossings are nodes of the account."""
    table, found = simrun.time_lost(recording), at_the_marks(recording)
    there = np.isfinite(recording.crossing_s).ravel()
    for name, values in found.items():
        told = table[f"{name}_s"].to_numpy(float)
        np.testing.assert_allclose(values.ravel()[there], told[there], rtol=0, atol=1e-6)


def test_a_moment_off_is_seen(recording: Recording) -> None:
    """The planted fault: alone-times that are a hundredth of a second off make the two disagree."""
    wrong = replace(recording, raced_s=recording.raced_s + 0.01)
    table, found = simrun.time_lost(recording), at_the_marks(wrong)
    told = table["traffic_s"].to_numpy(float)
    assert np.nanmax(np.abs(found["traffic"].ravel() - told)) > 0.009


def test_the_four_parts_are_the_whole_at_every_moment(recording: Recording) -> None:
    """To 1e-9 s: moment less the moment alone from the reference box, whatever way it is split."""
    account = lost_so_far(recording)
    parts = account.box_s + account.line_s + account.traffic_s + account.racing_s
    np.testing.assert_allclose(parts, account.lost_s, rtol=0, atol=1e-9, equal_nan=True)


@pytest.mark.parametrize("until_m", [None, 333.0, 120.0])
def test_the_places_add_up(recording: Recording, until_m: float | None) -> None:
    """Place by place the traffic adds up to that of the account where the study ends, to 1e-9 s."""
    split = lost_by_place(recording, until_m)
    passed = split.passed
    for part, last in (
        (split.traffic_s, passed.field_s[:, -1] - passed.own_s[:, -1]),
        (split.line_s, passed.own_s[:, -1] - passed.shortest_s[:, -1]),
        (split.box_s, passed.shortest_s[:, -1] - passed.best_s[:, -1]),
    ):
        np.testing.assert_allclose(part.sum(axis=1), last, rtol=0, atol=1e-9, equal_nan=True)
    if until_m is None:
        whole = recording.crossing_s - recording.alone_s
        np.testing.assert_allclose(
            split.traffic_s.sum(axis=1), whole[:, -1], rtol=0, atol=1e-9, equal_nan=True
        )


def jump_at_marks_s(recording: Recording) -> float:
    """By how much does the box part change within two seconds about a mark, at the most?"""
    found = []
    for c in range(recording.crossing_s.shape[1]):
        for i in np.flatnonzero(np.isfinite(recording.crossing_s[:, c]))[::20]:
            about = recording.crossing_s[i, c] + np.array([-1.0, 0.0, 1.0])
            found.append(np.abs(np.diff(lost_so_far(recording, about).box_s[:, i])).max())
    return float(max(found))


def test_there_is_one_reference_box_and_nothing_jumps_at_a_mark() -> None:
    """One box for all marks; a mark that had a reference of its own would show."""
    day = simrun.read(FOLDER / "dual_meet.toml")
    recording = simrun.race(day, seed=3)
    assert isinstance(recording.best_box, int)
    assert 1 <= recording.best_box <= recording.scenario.start.boxes
    assert jump_at_marks_s(recording) < 0.1
    other = recording.best_s + np.array([0.5, 0.0, 0.0])
    assert jump_at_marks_s(replace(recording, best_s=other)) > 0.4
