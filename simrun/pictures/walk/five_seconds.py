"""Five seconds of a recorded race around one place, as a page keeps them: the format of the replay page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.replay.replay_data import packed_cm
from simrun.pictures.walk.place_map import SHAPE, PlaceMap
from simrun.state.recording import Recording

Array = NDArray[np.float64]

LASTS_S = 5.0
BEFORE_S = 1.5
"""The middle one of ours is at the place after so many seconds."""

LEAST_M, MOST_M, BESIDE_M = 34.0, 90.0, 5.0
"""A view is never narrower and never wider than that; so much room around who is in it."""


@dataclass(frozen=True)
class FiveSeconds:
    """What is shown of one place. from_s: since the gun. in_view: how many of ours are ever in it.

    data: the numbers that the page plays, fit for JSON, in the frame of the place's map.
    """

    from_s: float
    in_view: int
    data: dict[str, Any]


def five_seconds(
    recording: Recording, ours: NDArray[np.int64], shown: PlaceMap, at_s: float
) -> FiveSeconds | None:
    """LASTS_S of the race around the moment when ours are at a place; None where nobody is there then.

    ours (R,): rows of our runners; they bear the numbers 1, 2, ... Check:
    tests/journeys/test_preview.py (positions against the recording's).
    """
    begin = max(0.0, at_s - BEFORE_S)
    frames = np.flatnonzero(
        (recording.times_s >= begin - 1e-6) & (recording.times_s <= begin + LASTS_S + 1e-6)
    )
    if len(frames) < 2:
        return None
    place = shown.turned(recording.position_m[frames])
    box = _box(place[:, ours])
    if box is None:
        return None
    inside = _inside(place, box)
    rows = np.flatnonzero(inside.any(axis=0) | np.isin(np.arange(place.shape[1]), ours))
    number = {int(row): k for k, row in enumerate(ours, start=1)}
    packed = packed_cm(place[:, rows].astype(np.float32))
    from_s = round(float(recording.times_s[frames[0]]), 2)
    data = {
        "from": from_s,
        "frame": round(float(recording.times_s[1] - recording.times_s[0]), 3),
        "frames": len(frames),
        "box": [round(each, 2) for each in box],
        "ours": [number.get(int(row), 0) for row in rows],
        "radius": [round(float(recording.roster.radius_m[row]), 2) for row in rows],
        "position": packed,
    }
    seen = int(inside[:, ours].any(axis=0).sum())
    return FiveSeconds(from_s, seen, data)


def _box(ours: Array) -> tuple[float, float, float, float] | None:
    """The view: all of ours where they fit, else around the middle one."""
    known = ours[np.isfinite(ours).all(axis=2)]
    if not len(known):
        return None
    low, high = known.min(axis=0), known.max(axis=0)
    wide = max(float(high[0] - low[0]), SHAPE * float(high[1] - low[1])) + 2 * BESIDE_M
    middle = (low + high) / 2
    if wide > MOST_M:
        wide = MOST_M
        middle = np.nanmedian(ours[len(ours) // 3], axis=0)
    wide = max(LEAST_M, wide)
    left, top = middle - np.array([wide, wide / SHAPE]) / 2
    return float(left), float(top), wide, wide / SHAPE


def _inside(place: Array, box: tuple[float, float, float, float]) -> NDArray[np.bool_]:
    """Who is in the view, (F, N)?"""
    left, top, wide, high = box
    x, y = place[..., 0], place[..., 1]
    return np.asarray((x > left) & (x < left + wide) & (y > top) & (y < top + high))
