"""What is left of a recording: standing about and slips of the watch go, a hairpin stays."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.walked.track_walk import walk_of
from tests.helpers.watch_tracks import wandering

NO_HEIGHT = np.nan


def walked(points: np.ndarray, time: np.ndarray | None = None, **how: object):
    seconds = np.arange(len(points), dtype=float) if time is None else time
    return walk_of(points, np.full(len(points), NO_HEIGHT), seconds, **how)  # type: ignore[arg-type]


def straight(metres: float, pace: float = 4.0) -> np.ndarray:
    along = np.arange(0.0, metres + 0.1, pace)
    return np.stack([along, 0 * along], axis=1)


def test_a_minute_of_standing_about_adds_no_metres_and_is_told() -> None:
    """800 m with a minute at 400 m, 3 m of error: the way is as long as without the stop within 8 m."""
    rng, line = np.random.default_rng(4), straight(800)
    still = np.vstack([line[:100], np.repeat(line[99:100], 60, axis=0), line[100:]])
    error = np.stack([wandering(rng, len(still), 2.0, 20.0) for _ in range(2)], axis=1)
    found = walked(still + error)
    assert found.along_m[-1] == pytest.approx(800, abs=8)
    assert found.still[0] == 1
    assert 40 < found.still[1] < 75


def test_a_hairpin_is_no_standing_about() -> None:
    """Out 160 m, around a radius of 5 m, back: nothing is dropped though the way comes back on itself."""
    angle = np.linspace(-np.pi / 2, np.pi / 2, 5)[1:-1]
    tip = np.stack([160 + 5 * np.cos(angle), 5 + 5 * np.sin(angle)], axis=1)
    back = straight(160)[::-1] + np.array([0.0, 10.0])
    found = walked(np.vstack([straight(160), tip, back]))
    assert found.still == (0, 0.0)
    assert found.points_m[:, 0].max() > 163


def test_a_slip_of_the_watch_is_left_out_and_a_gap_is_bridged() -> None:
    line = straight(800)
    line[50] += [0.0, 300.0]
    time = np.arange(len(line), dtype=float)
    keep = np.ones(len(line), dtype=bool)
    keep[120:135] = False
    found = walked(line[keep], time[keep])
    assert found.along_m[-1] == pytest.approx(800, abs=1)
    assert np.abs(found.points_m[:, 1]).max() < 1


@pytest.mark.parametrize(("error_m", "over_s"), [(1.0, 60.0), (2.0, 20.0), (3.5, 10.0)])
def test_how_much_a_watch_wanders_is_seen_in_its_track(error_m: float, over_s: float) -> None:
    """The growth of the error's variance on a metre is error^2 2 / (over_s pace): found within a third,
    or 0.015."""
    rng, line = np.random.default_rng(7), straight(6000)
    error = np.stack([wandering(rng, len(line), error_m, over_s) for _ in range(2)], axis=1)
    true = 2 * error_m**2 / (over_s * 4.0)
    assert walked(line + error).wander_m2_m == pytest.approx(max(true, 0.015), rel=0.34)


def test_a_stretch_is_cut_out_and_what_goes_nowhere_is_refused() -> None:
    found = walked(straight(800), span_m=(100.0, 500.0))
    assert (found.along_m[0], found.along_m[-1]) == pytest.approx((0.0, 400.0))
    assert found.points_m[0, 0] == pytest.approx(100, abs=1)
    for points, how, said in (
        (straight(800), {"span_m": (750.0, None)}, "at least 100 m"),
        (straight(60), {}, "at least 16 s|at least 100 m"),
        (np.random.default_rng(1).normal(0, 1, (300, 2)), {}, "stays in one place|at least 100 m"),
    ):
        with pytest.raises(BadInput, match=said):
            walked(points, **how)


def test_a_gap_is_told_and_slow_recording_is_none() -> None:
    line, time = straight(800), np.arange(201, dtype=float)
    keep = np.ones(len(line), dtype=bool)
    keep[60:72] = False
    found = walked(line[keep], time[keep])
    assert found.unseen is not None
    at = found.points_m[found.unseen, 0]
    assert 236 <= at.min() < 250
    assert 270 < at.max() <= 288
    assert set(found.sure[found.unseen]) == {0.02}
    every_sixth = walked(line[::6], time[::6])
    assert every_sixth.unseen is not None
    assert not every_sixth.unseen.any()
