"""Is whom the camera follows inside the map in every frame, and does the camera keep calm?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.course.start import StartSpec, build_start_line
from simrun.course.strip import Strip
from simrun.pictures.ink.panels import Layout
from simrun.pictures.story.director import (
    GLIDE_S,
    NEAREST_PX_M,
    WHOLE_START_S,
    Scene,
    Track,
    direct,
)
from simrun.pictures.story.moments import Followed
from tests.helpers.worlds import SHARP_TURN, mirrored, scenario_of

FRAME_S = 0.1
LAYOUT = Layout(800, 450)


@pytest.fixture(scope="module")
def strip(tmp_path_factory: pytest.TempPathFactory) -> Strip:
    return scenario_of(SHARP_TURN, tmp_path_factory.mktemp("day")).strip


def line_of(width_m: float) -> StartSpec:
    return StartSpec(width_m, "straight", None, width_m / 20, 20, 3)


def runners(strip: Strip, count: int, seconds: float, spread_m_s: float = 0.3) -> np.ndarray:
    """`count` runners on rails, each at an own share of the width and an own speed, (F, N, 2)."""
    random = np.random.default_rng(5)
    t_s = np.arange(round(seconds / FRAME_S)) * FRAME_S
    speed, share = random.normal(5.0, spread_m_s, count), random.uniform(0.1, 0.9, count)
    place = np.empty((len(t_s), count, 2))
    for runner in range(count):
        rail = strip.left_m + (strip.right_m - strip.left_m) * share[runner]
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(rail, axis=0).T))])
        for axis in (0, 1):
            run_m = t_s * speed[runner]
            place[:, runner, axis] = np.interp(run_m, along, rail[:, axis], right=np.nan)
    return place


def script(place: np.ndarray, who: np.ndarray, strip: Strip, width_m: float = 60.0) -> Track:
    scene = Scene(strip, build_start_line(line_of(width_m)))
    return direct(place, np.arange(len(place)) * FRAME_S, Followed("x", who), scene, LAYOUT)


def outside_px(track: Track, place: np.ndarray, who: np.ndarray) -> np.ndarray:
    """How far outside the map is the outermost of those followed? Below 0 = inside. (F,)"""
    half = np.array([LAYOUT.width_px, LAYOUT.map_height_px]) / 2
    away = np.abs(place[:, who] - track.middle_m[:, None]) * track.scale_px_m[:, None, None] - half
    return np.where(np.isfinite(away), away, -np.inf).max(axis=(1, 2))


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("count", [1, 7, 40])
def test_the_followed_are_inside_in_every_frame(strip: Strip, turned: bool, count: int) -> None:
    """Also round a sharp turn to either side, and when the team spreads over hundreds of metres."""
    ground = mirrored(strip) if turned else strip
    place = runners(ground, 200, 90.0, spread_m_s=0.8)
    who = np.arange(200) < count
    assert outside_px(script(place, who, ground), place, who).max() < -LAYOUT.px(20)


def test_a_team_wider_than_the_line_is_inside_at_the_gun(strip: Strip) -> None:
    """A line of 10 m would be shown from near; whom the camera follows stands 48 m apart."""
    place = runners(strip, 60, 20.0)
    who = np.ones(60, dtype=bool)
    assert outside_px(script(place, who, strip, width_m=10.0), place, who).max() < -LAYOUT.px(20)


def test_the_zoom_does_not_pump(strip: Strip) -> None:
    """Two who come apart and together every second: one zoom that shows them apart is kept."""
    place = runners(strip, 2, 60.0, spread_m_s=0.0)
    apart = 60.0 * (np.arange(600) // 10 % 2)
    place[:, 0, 0], place[:, 1, 0] = 230.0, 230.0 + apart
    place[..., 1] = 0.0
    after = slice(round((WHOLE_START_S + GLIDE_S) / FRAME_S) + 1, None)
    assert len(np.unique(script(place, np.ones(2, dtype=bool), strip).scale_px_m[after])) == 1


@pytest.mark.parametrize("width_m", [10.0, 60.0, 120.0])
def test_the_whole_line_is_shown_first(strip: Strip, width_m: float) -> None:
    """Both ends of the line are in the map until the camera leaves, for narrow and wide lines."""
    place = runners(strip, 50, 20.0)
    track = script(place, np.arange(50) < 7, strip, width_m)
    first = np.arange(len(place)) * FRAME_S <= WHOLE_START_S
    ends = build_start_line(line_of(width_m)).line_m[[0, -1]]
    still = np.broadcast_to(ends, (len(place), 2, 2))
    assert outside_px(track, still, np.ones(2, dtype=bool))[first].max() < 0


def test_the_camera_does_not_jump(strip: Strip) -> None:
    """The map slides no faster than twice a runner at the nearest zoom; the zoom moves by 5 %."""
    place = runners(strip, 100, 80.0)
    track = script(place, np.arange(100) < 7, strip)
    moved = np.hypot(*np.diff(track.middle_m, axis=0).T) * track.scale_px_m[1:]
    fastest = np.nanmax(np.hypot(*np.diff(place, axis=0).transpose(2, 0, 1)))
    assert moved.max() < 2 * fastest * NEAREST_PX_M
    assert np.abs(np.diff(np.log(track.scale_px_m))).max() < 0.05


def test_most_frames_have_a_zoom_that_lasts(strip: Strip) -> None:
    """Only then is the ground drawn once a zoom instead of once a frame."""
    place = runners(strip, 100, 80.0)
    track = script(place, np.arange(100) < 7, strip)
    _, counts = np.unique(track.scale_px_m, return_counts=True)
    assert counts[counts >= 12].sum() > 0.6 * len(place)
    assert track.scale_px_m.max() <= NEAREST_PX_M


def test_the_pack_is_followed_when_nobody_is_named(strip: Strip) -> None:
    """More than half of the field stays inside the map."""
    place = runners(strip, 200, 60.0)
    track = script(place, np.zeros(200, dtype=bool), strip)
    half = np.array([LAYOUT.width_px, LAYOUT.map_height_px]) / 2
    away = np.abs(place - track.middle_m[:, None]) * track.scale_px_m[:, None, None]
    assert ((away < half).all(axis=2).mean(axis=1) > 0.5).all()


@pytest.mark.parametrize("gone", [0, 300])
def test_the_camera_holds_when_all_have_left(strip: Strip, gone: int) -> None:
    """Nobody at all, or nobody any more: finite numbers, no movement after the last one was seen."""
    place = runners(strip, 5, 60.0)
    place[gone:] = np.nan
    track = script(place, np.ones(5, dtype=bool), strip)
    assert np.isfinite(track.middle_m).all()
    assert np.isfinite(track.scale_px_m).all()
    assert np.hypot(*(track.middle_m[-1] - track.middle_m[-50])) < 1.0


def test_a_single_frame_is_enough(strip: Strip) -> None:
    """A view of one frame has a script of one frame."""
    track = script(runners(strip, 5, FRAME_S), np.ones(5, dtype=bool), strip)
    assert track.middle_m.shape == (1, 2)


def test_a_long_course_stays_quick(strip: Strip) -> None:
    """600 runners over 90 s: the whole script, not only its first frame, is finite and shaped."""
    place = runners(strip, 600, 90.0)
    track = script(place, np.arange(600) % 24 == 3, strip)
    assert track.scale_px_m.shape == (900,)
    assert np.isfinite(track.box_m).all()


def test_helpers_stand_where_they_say(tmp_path: Path, strip: Strip) -> None:
    """The rails of these tests turn left by 90 degrees: the later place is far to the left."""
    place = runners(strip, 3, 90.0)
    assert np.nanmax(place[..., 1]) > 50
    assert np.nanmin(runners(mirrored(strip), 3, 90.0)[..., 1]) < -50
