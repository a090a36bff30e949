"""What is dropped, smoothed and refused of a recorded line, and is it told?"""

from __future__ import annotations

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.tracks.track_drawing import drawing_of
from simrun.course.tracks.track_lines import Part, Tracks
from simrun.course.tracks.track_tidy import Trail, rounded, smoothed, thinned, trail_of

PLACE = Frame(-20.5, -35.25)


def part(points: object, height: object = None, time: object = None, frame: Frame = PLACE) -> Part:
    rows = np.asarray(points, dtype=float)
    nothing = np.full(len(rows), np.nan)
    heights = nothing if height is None else np.asarray(height, dtype=float)
    times = nothing if time is None else np.asarray(time, dtype=float)
    return Part("", frame.to_degree(rows), heights, times)


def straight(metres: float = 300.0, step: float = 3.0) -> np.ndarray:
    at = np.arange(0, metres + step / 2, step)
    return np.stack([at, 0 * at], axis=1)


def refused(*parts: Part, **how: object) -> str:
    with pytest.raises(BadInput) as caught:
        trail_of(Tracks(parts), **how)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_doubled_points_are_dropped_and_told() -> None:
    trail = trail_of(Tracks((part(np.repeat(straight(), 2, axis=0)),)))
    assert trail.along_m[-1] == pytest.approx(300, abs=1e-3)
    assert "101 doubled points dropped" in trail.told


def test_a_watch_that_wanders_while_its_owner_stands_adds_no_metres() -> None:
    """Two minutes within about 2 m at 150 m: 300 m stay 300 m within 1 %."""
    line, rng = straight(), np.random.default_rng(3)
    stand = line[50] + rng.normal(0, 1.0, (120, 2))
    wandering = np.vstack([line[:50], stand, line[50:]])
    trail = trail_of(Tracks((part(wandering),)))
    assert trail.along_m[-1] == pytest.approx(300, rel=0.01)
    assert any("stands about (1 places)" in words for words in trail.told)


def test_a_clean_line_loses_nothing() -> None:
    """A hairpin about 4 m of radius is no standing about."""
    angle = np.linspace(-np.pi / 2, np.pi / 2, 12)
    bend = np.stack([60 + 4 * np.cos(angle), 4 + 4 * np.sin(angle)], axis=1)
    back = straight(60)[::-1] + np.array([0, 8])
    trail = trail_of(Tracks((part(np.vstack([straight(60)[:-1], bend, back[1:]])),)))
    assert trail.told == ("heights: none in the file, the course is flat",)


def test_a_recording_that_was_switched_off_is_refused() -> None:
    """Two minutes and 200 m without a point; the same line without times is a drawing and is taken."""
    line = np.vstack([straight(), straight() + np.array([500, 0])])
    time = np.arange(len(line)) + np.where(np.arange(len(line)) > 100, 120, 0)
    assert "nothing was recorded for 121 s and 200 m, from 300 m on" in refused(
        part(line, time=time)
    )
    assert trail_of(Tracks((part(line),))).along_m[-1] == pytest.approx(800, abs=0.01)
    assert "run backwards" in refused(part(line, time=-np.arange(len(line))))


def test_parts_are_never_joined_unasked() -> None:
    one, near, far = (
        part(straight()),
        part(straight() + np.array([310, 0])),
        part(straight() + np.array([900, 0])),
    )
    assert "2 lines, which are never joined unasked" in refused(one, near)
    assert trail_of(Tracks((one, near)), "2").along_m[-1] == pytest.approx(300, abs=0.01)
    assert trail_of(Tracks((one, near)), "all").along_m[-1] == pytest.approx(610, abs=0.01)
    assert "part 2: begins 600 m from" in refused(one, far, part="all")
    assert "--part" in refused(one, far, part="3")


def test_a_stretch_is_cut_out() -> None:
    trail = trail_of(Tracks((part(straight(), height=np.arange(101)),)), "", (50.0, 200.0))
    assert trail.along_m[-1] == pytest.approx(150, abs=1e-3)
    assert "at least 50 m" in refused(part(straight()), span_m=(280.0, None))


def test_heights_are_averaged_and_a_straight_slope_stays() -> None:
    """A watch's height that jumps by 2 m at every point: 200 m of climb become less than 10."""
    along = np.arange(0.0, 301.0, 3.0)
    np.testing.assert_allclose(smoothed(along, 0.04 * along + 7, 50.0), 0.04 * along + 7)
    jumping = 10 + np.where(np.arange(101) % 2, 1.0, -1.0)
    trail = trail_of(Tracks((part(straight(), height=jumping),)))
    assert np.clip(np.diff(trail.height_m), 0, None).sum() < 10
    assert any("averaged over 50 m" in words for words in trail.told)


def test_smoothing_keeps_the_ends_and_thinning_the_line() -> None:
    rng = np.random.default_rng(1)
    points = straight() + np.append(np.zeros((1, 2)), rng.normal(0, 0.5, (100, 2)), axis=0)
    trail = Trail(points, np.zeros(101), PLACE)
    even = rounded(trail, 8.0)
    np.testing.assert_allclose(even.points_m[[0, -1]], points[[0, -1]], atol=1e-6)
    assert trail.along_m[-1] > 306 > 303 > even.along_m[-1]
    assert len(thinned(trail, 2.0).points_m) < 20


@pytest.mark.parametrize("frame", [Frame(180.0, 10.0), Frame(-179.9995, -41.0), Frame(10.0, 84.0)])
def test_the_antimeridian_is_a_line_like_any_other(frame: Frame) -> None:
    """300 m across the 180th meridian, and near the pole."""
    line = straight()
    wrapped = part(line - np.array([150, 0]), frame=frame)
    degree = wrapped.degree.copy()
    degree[:, 0] = (degree[:, 0] + 180) % 360 - 180
    tracks = Tracks((Part("", degree, wrapped.height_m, wrapped.time_s),))
    trail = trail_of(tracks)
    assert trail.along_m[-1] == pytest.approx(300, abs=0.01)
    assert drawing_of(trail, tracks, 6.0, "metric").length_m == pytest.approx(300, abs=0.01)


def test_a_line_in_one_place_and_one_round_the_world_are_refused() -> None:
    assert "all points are the same" in refused(part([[0, 0]] * 5))
    rng = np.random.default_rng(0)
    assert "stays in one place" in refused(part(rng.normal(0, 1, (200, 2))))
    nothing = np.full(2, np.nan)
    assert "km long" in refused(Part("", np.array([[0.0, 0.0], [90.0, 10.0]]), nothing, nothing))


def test_a_lap_course_is_told_to_be_cut() -> None:
    angle = np.linspace(0, 4 * np.pi, 400)
    circle = 80 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    tracks = Tracks((part(circle),))
    with pytest.raises(BadInput, match="cut to one lap"):
        drawing_of(trail_of(tracks), tracks, 6.0, "metric")
