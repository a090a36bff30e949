"""When did everybody pass a place of the course? Found in the frames of a recording."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.state.recording import Recording

Array = NDArray[np.float64]

BESIDE_M = 2.0
"""A runner so far beyond an edge still passes."""

FASTEST_M_S = 9.0
"""No field runs a distance faster than that (assumed; the best over 800 m are near 8 m/s)."""


def passed_s(recording: Recording, station_m: float, until_s: float) -> Array:
    """When did everybody pass the cross-cut at a station? (N,) seconds, nan = not until then.

    Found from the frames, since only checkpoints have recorded times.
    Check: tests/unit/pictures/test_pictures_script.py (the recorded times at every checkpoint).
    """
    strip, shown = recording.strip, recording.times_s <= until_s + 1e-9
    left, right = (np.array(strip.point_at(station_m, share)) for share in (0.0, 1.0))
    width = max(float(np.hypot(*(right - left))), 1e-9)
    across = (right - left) / width
    away = recording.position_m[shown] - left.astype(np.float32)
    side = away @ np.array([-across[1], across[0]], dtype=np.float32)
    place = away[1:] @ across.astype(np.float32)
    possible = (place > -BESIDE_M) & (place < width + BESIDE_M)
    in_time = recording.times_s[shown][1:, None] >= _earliest_s(recording, station_m)
    return _met_s(side, possible & in_time, recording.times_s)


def _met_s(side: NDArray[np.float32], possible: NDArray[np.bool_], times_s: Array) -> Array:
    """When does a distance (T, N) first rise through zero where that is possible? (N,) seconds."""
    if len(side) < 2:
        return np.full(side.shape[1], np.nan)
    over = (side[:-1] < 0) & (side[1:] >= 0) & possible
    frame, runner = over.argmax(axis=0), np.arange(side.shape[1])
    before, after = side[frame, runner], side[frame + 1, runner]
    share = before / np.minimum(before - after, -1e-9)
    met = times_s[frame] + share * (times_s[frame + 1] - times_s[frame])
    return np.where(over.any(axis=0), met, np.nan)


def _earliest_s(recording: Recording, station_m: float) -> Array:
    """Nobody is at a station before the checkpoint before it; laps and wide fields pass it sooner. (N,)"""
    before = [i for i, m in enumerate(recording.strip.checkpoints) if m.station_m < station_m - 1]
    least = np.full(len(recording.roster), station_m / FASTEST_M_S)
    if not before:
        return least
    return np.maximum(least, np.nan_to_num(recording.crossing_s[:, before[-1]], nan=np.inf))
