"""Is a walk taken for the course that was drawn: its straights, its turns by side, its laps?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simrun.course.walked.track_climb import profile_of
from simrun.course.walked.track_course import WatchCourse, course_of
from simrun.course.walked.track_laps import laps_of
from simrun.course.walked.track_straights import straights_of
from simrun.course.walked.track_walk import EVEN_M, Walk
from tests.helpers.watch_tracks import rounded_path, wandering

FIELD = np.array([[0.0, 0.0], [500.0, 0.0], [500.0, 260.0], [180.0, 300.0]])


def lapped(laps: int) -> np.ndarray:
    """In from the west along the south side, around the field `laps` times and out at its first corner,
    north."""
    corners = [np.array([-220.0, 0.0])]
    for lap in range(laps):
        corners += [*(FIELD[1:] if lap == 0 else FIELD)]
    corners += [FIELD[0], FIELD[1], np.array([500.0, 420.0])]
    return np.array(corners)


def walk_along(corners: np.ndarray, error_m: float = 0.0, seed: int = 1, radius_m: float = 12.0):
    """The walk that a watch with this error writes of these corners, rounded off."""
    path = rounded_path(corners, radius_m)
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(path, axis=0).T)))
    even = np.arange(0.0, along[-1], EVEN_M)
    points = np.stack([np.interp(even, along, path[:, axis]) for axis in (0, 1)], axis=1)
    rng = np.random.default_rng(seed)
    for axis in (0, 1):
        points[:, axis] += wandering(rng, len(even), error_m, 20.0) if error_m else 0.0
    wander = max(0.015, 2 * error_m**2 / 20.0 / EVEN_M)
    return Walk(points, np.full(len(even), np.nan), even, wander), float(along[-1])


def degrees(course: WatchCourse) -> list[int]:
    return [round(float(np.rad2deg(bit.bend_rad))) for bit in course.bits if bit.is_turn]


def test_a_straight_walk_is_one_straight_however_the_watch_wanders() -> None:
    for seed in range(4):
        walk, length = walk_along(np.array([[0.0, 0.0], [900.0, 0.0]]), 2.1, seed)
        course = course_of(walk)
        assert [bit for bit in degrees(course) if abs(bit) > 30] == []
        assert course.length_m == pytest.approx(length, rel=0.01)


def test_three_turns_are_three_however_the_watch_wanders() -> None:
    """A left, a right and a hairpin: three, with their sides, where the raw track shows many more."""
    corners = np.array(
        [[0, 0], [300, 0], [300, 200], [700, 200], [700, 216], [400, 216]], dtype=float
    )
    for seed in range(3):
        walk, length = walk_along(corners, 2.1, seed, 8.0)
        raw = np.diff(np.unwrap(np.arctan2(*np.diff(walk.points_m[::3], axis=0).T)))
        assert (np.abs(raw) > np.deg2rad(30)).sum() > 3
        course = course_of(walk)
        sharp = [bend for bend in degrees(course) if abs(bend) > 30]
        assert [bend > 0 for bend in sharp] == [True, False, True]
        assert sharp[2] > 150
        assert course.length_m == pytest.approx(length, rel=0.015)


@pytest.mark.parametrize("laps", [1, 2, 3])
def test_laps_are_found_closed_and_counted(laps: int) -> None:
    walk, length = walk_along(lapped(laps), 1.5, laps)
    course = course_of(walk)
    assert course.laps == laps
    assert course.length_m == pytest.approx(length, rel=0.01)
    assert course.lap_at is not None
    begin, end = course.chain.poses[course.lap_at].value, course.chain.poses[-1].value
    assert np.hypot(*(end - begin)[:2]) < 0.05
    assert (end[2] - begin[2]) % (2 * np.pi) == pytest.approx(0, abs=1e-3)
    assert sum(bend > 30 for bend in degrees(course)) == 4 * laps + 1
    assert (np.diff(course.along_m) >= 0).all()
    assert course.along_m[-1] == pytest.approx(course.length_m, abs=10)


def test_a_way_out_and_back_is_no_lap() -> None:
    corners = np.array([[0, 0], [600, 0], [600, 12], [0, 12]], dtype=float)
    assert laps_of(walk_along(corners, radius_m=6.0)[0].points_m) is None


def test_where_a_turn_is_dear_none_is_found() -> None:
    """The price of a turn is what keeps the watch's wandering from being one: an error told as tenfold
    hides it."""
    walk, _ = walk_along(
        np.array([[0, 0], [120, 0], [200, 60], [320, 60]], dtype=float), radius_m=20.0
    )
    weight = np.ones(len(walk.points_m))
    assert len(straights_of(walk.points_m, weight, 0.06)) == 3
    assert len(straights_of(walk.points_m, weight, 30.0)) == 1


def test_no_turn_is_tighter_than_asked() -> None:
    walk, _ = walk_along(FIELD, radius_m=8.0)
    free = [bit.radius_m for bit in course_of(walk).chain.bits if bit.is_turn]
    assert min(free) < 12
    held = [bit.radius_m for bit in course_of(walk, {0: 20.0}).chain.bits if bit.is_turn]
    assert held[0] >= 20
    assert held[1] == pytest.approx(free[1], abs=3)


@pytest.mark.parametrize("laps", [1, 2])
def test_a_hill_of_twelve_metres_is_twelve_and_not_sixty(laps: int) -> None:
    """A hill on every lap, and a height that wanders: what the watch adds up is at least twice as much."""
    walk, _ = walk_along(lapped(laps), 1.0, 3)
    rng = np.random.default_rng(5)
    hill = 12 * np.exp(-((walk.points_m - [500.0, 130.0]) ** 2).sum(axis=1) / 120**2)
    height = hill + np.round(wandering(rng, len(hill), 0.8, 10.0), 1)
    true, raw = (float(np.clip(np.diff(h), 0, None).sum()) for h in (hill, height))
    course = course_of(walk)
    profile = profile_of(course, height)
    assert raw > 2 * true
    assert profile.climb_m(course) == pytest.approx(true, abs=4 * (laps + 1))
    begin = course.chain.begins_m[course.lap_at or 0]
    assert profile.height(begin) == pytest.approx(profile.height(course.chain.length_m), abs=1e-6)
    flat = profile_of(course, height * 0 + rng.normal(0, 0.3, len(height)))
    assert flat.climb_m(course) < 2


def test_a_gap_at_a_turn_cuts_it_less_where_it_is_told() -> None:
    """Seven seconds without a point about a corner: the line across the gap is no place that somebody was.

    A gap that is much longer than the turn is still cut across: what was run there is not in the track.
    """
    corners = np.array([[0, 0], [400, 0], [400, 400]], dtype=float)
    for seed in range(3):
        walk, length = walk_along(corners, 2.0, seed)
        near = np.abs(walk.along_m - 400) < 14
        points = walk.points_m.copy()
        points[near] = np.linspace(points[near][0], points[near][-1], near.sum())
        cut = replace(walk, points_m=points)
        told_m, silent_m = course_of(replace(cut, unseen=near)).length_m, course_of(cut).length_m
        assert abs(told_m - length) < abs(silent_m - length) - 1.5
