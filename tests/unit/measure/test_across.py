"""Where across the course is a mark passed? Held against the frames of a race, mark by mark."""

from __future__ import annotations

import numpy as np

from simrun.engine.run import run_race
from simrun.measure.crowd import across_shares, slowest_to_marks
from simrun.scenario.reader import read


def test_across_is_the_place_in_the_frames() -> None:
    """Of every runner at every mark: in the frame next to the crossing, by hand, to a step of running."""
    recording = run_race(read("scenarios/dual_meet.toml"), 3)
    across = across_shares(recording)
    cuts = recording.strip.checkpoint_cuts()
    assert across.shape == recording.crossing_s.shape
    for c, cut in enumerate(cuts):
        left, right = recording.strip.left_m[cut], recording.strip.right_m[cut]
        for i in range(len(recording.roster)):
            frame = int(np.abs(recording.times_s - recording.crossing_s[i, c]).argmin())
            on = (
                (recording.position_m[frame, i] - left) @ (right - left) / np.hypot(*(right - left))
            )
            width = float(np.hypot(*(right - left)))
            assert abs(across[i, c] * width - on) < 1.0
            assert 0.0 <= across[i, c] <= 1.0


def test_who_does_not_come_so_far_has_no_place() -> None:
    day = read("scenarios/dual_meet.toml").changed({"clock.limit": 40})
    recording = run_race(day, 3)
    across = across_shares(recording)
    assert np.isnan(across[:, -1]).all()
    assert np.isfinite(across[:, 0]).any()


def test_the_slowest_on_the_way_is_the_frames_own() -> None:
    """Of every runner between two marks: no frame between them is slower, and one is as slow."""
    recording = run_race(read("scenarios/dual_meet.toml"), 3)
    slowest, times = slowest_to_marks(recording), recording.times_s
    assert np.isnan(slowest[:, 0]).all()
    for c in range(1, slowest.shape[1]):
        for i in range(len(recording.roster)):
            begin, end = recording.crossing_s[i, c - 1 : c + 1]
            speeds = recording.speed_m_s[(times >= begin - 1e-9) & (times <= end + 1e-9), i]
            assert slowest[i, c] == speeds.min()
    assert np.isfinite(slowest[:, 1:]).all()
