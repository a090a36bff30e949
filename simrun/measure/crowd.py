"""How crowded was one race? Density, flow at the narrowing, queueing, and when the field was strung out.

Everything comes from a Recording alone. None of it is a probability of anything.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass, fields

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Strip
from simrun.state.recording import Recording

Array = NDArray[np.float64]

CLEAR_OF_LINE_M = 10.0
"""Density counts runners so far from their own place: on the line itself it is what was painted."""

SQUARE_M, PART_M = 1.0, 0.5
"""Density is that of a square of 1 m2, tried at every half metre."""

WINDOW_S = 1.0
FLOW_WINDOW_S = 10.0
SLOW_SHARE, SLOW_S = 0.5, 1.0
"""Slowed: below half of the wished speed, for a second in all."""

HELD_SHARE, HELD_FIELD = 0.9, 0.1
"""Strung out: from then on at most a tenth of the field is held below nine tenths of the wished speed."""


@dataclass(frozen=True)
class CrowdFigures:
    """One race as a crowd; nan where there was nothing to measure.

    slowed_share: of all runners, those below half of their wished speed for 1 s or longer in all, once
    they had reached it. queue_s: seconds spent so, mean of the field. density_per_m2: the highest over
    1 m2 and 1 s, 10 m off the line or further, at density_x_m, density_y_m (middle of the square) and
    density_s. flow_per_s_m: through the first narrowing, per metre of its width, in its busiest 10 s.
    strung_out_s: from when on the field is strung out, seconds after the gun.
    """

    slowed_share: float
    queue_s: float
    density_per_m2: float
    density_x_m: float
    density_y_m: float
    density_s: float
    flow_per_s_m: float
    strung_out_s: float


CROWD_NAMES = tuple(field.name for field in fields(CrowdFigures))


def crowd_figures(recording: Recording) -> CrowdFigures:
    """How crowded was this race? Check: tests/unit/measure/test_crowd.py (worlds with a known answer)."""
    slow_s = slow_seconds(recording)
    times = first_narrowing_s(recording)
    return CrowdFigures(
        slowed_share=float((slow_s >= SLOW_S - 1e-9).mean()),
        queue_s=float(slow_s.mean()),
        **dict(zip(CROWD_NAMES[2:6], highest_density(recording), strict=True)),
        flow_per_s_m=busiest_flow(times, first_narrowing_m(recording.strip)),
        strung_out_s=strung_out_s(recording),
    )


def as_array(figures: CrowdFigures) -> Array:
    """The figures in the order of CROWD_NAMES, (8,)."""
    return np.array(astuple(figures))


def _frame_s(recording: Recording) -> float:
    return float(recording.times_s[1] - recording.times_s[0])


def _speed_share(recording: Recording) -> Array:
    """Speed over wished speed, (T, N), nan before the first stride at half of it and after the end."""
    speed, wished = recording.speed_m_s.astype(float), recording.wished_m_s.astype(float)
    share = np.divide(speed, wished, out=np.full_like(speed, np.nan), where=wished > 0)
    under_way = np.logical_or.accumulate(share >= SLOW_SHARE, axis=0)
    return np.where(under_way, share, np.nan)


def slow_seconds(recording: Recording) -> Array:
    """For how long was everybody below half of the wished speed, once it had been reached? (N,)"""
    return np.asarray((_speed_share(recording) < SLOW_SHARE).sum(axis=0) * _frame_s(recording))


def strung_out_s(recording: Recording) -> float:
    """From when on is at most a tenth of the field held below nine tenths of its wished speed?

    nan where that is still so in the last second: the race ended too early to tell.
    """
    held = (_speed_share(recording) < HELD_SHARE).mean(axis=1)
    crowded = np.flatnonzero(held > HELD_FIELD)
    last = int(crowded[-1]) if len(crowded) else -1
    if last + 1 >= len(held) - WINDOW_S / _frame_s(recording):
        return float("nan")
    return float(recording.times_s[last + 1])


def highest_density(recording: Recording) -> tuple[float, float, float, float]:
    """The most people on 1 m2, mean of 1 s: how many, where (x, y), and when? nan where nobody came by."""
    position = recording.position_m.astype(float)
    away = np.hypot(*np.moveaxis(position - position[0], 2, 0)) >= CLEAR_OF_LINE_M
    frames = max(1, round(WINDOW_S / _frame_s(recording)))
    best = (np.nan,) * 4
    for first in range(0, len(position) - frames + 1, frames):
        window = slice(first, first + frames)
        points = position[window][away[window]]
        if not len(points):
            continue
        count, x_m, y_m = fullest_square(points)
        if not count / frames <= best[0]:
            best = (count / frames, x_m, y_m, float(recording.times_s[first]))
    return best


def fullest_square(points_m: Array) -> tuple[int, float, float]:
    """Which square metre, on a raster of half metres, holds most of these points? Count, middle x, y."""
    part = np.floor(points_m / PART_M).astype(np.int64)
    steps = np.array([[0, 0], [-1, 0], [0, -1], [-1, -1]])
    corners = (part[:, None, :] + steps[None]).reshape(-1, 2)
    squares, count = np.unique(corners, axis=0, return_counts=True)
    fullest = int(count.argmax())
    x_m, y_m = squares[fullest] * PART_M + SQUARE_M / 2
    return int(count[fullest]), float(x_m), float(y_m)


def first_narrowing_cut(strip: Strip) -> int | None:
    """The cross-cut at which the course is first narrow, None where it never is."""
    return next((gate.last_cut for gate in strip.gates if gate.kind == "throat"), None)


def first_narrowing_m(strip: Strip) -> float:
    """How wide is the first narrowing? nan without one."""
    cut = first_narrowing_cut(strip)
    return np.nan if cut is None else float(strip.width_m[cut])


def first_narrowing_s(recording: Recording) -> Array:
    """When did everybody first run through the first narrowing? (N,), nan = never."""
    cut = first_narrowing_cut(recording.strip)
    if cut is None:
        return np.full(len(recording.roster), np.nan)
    left, right = recording.strip.left_m[cut], recording.strip.right_m[cut]
    across = right - left
    ahead = np.array([-across[1], across[0]]) / np.hypot(*across)
    beyond = (recording.position_m.astype(float) - left) @ ahead
    aside = (recording.position_m.astype(float) - left) @ across / (across @ across)
    passed = (beyond[:-1] < 0) & (beyond[1:] >= 0) & (aside[1:] >= 0) & (aside[1:] <= 1)
    return _moments(recording.times_s, beyond, passed)


def _moments(times_s: Array, beyond: Array, passed: NDArray[np.bool_]) -> Array:
    """The first moment of every column in which it passed, between the two frames."""
    first, every = passed.argmax(axis=0), np.arange(passed.shape[1])
    before, after = beyond[first, every], beyond[first + 1, every]
    with np.errstate(invalid="ignore", divide="ignore"):
        moment = times_s[first] + before / (before - after) * (times_s[1] - times_s[0])
    return np.where(passed.any(axis=0), moment, np.nan)


def busiest_flow(times_s: Array, width_m: float) -> float:
    """How many a second and metre of width ran through in the busiest 10 s? nan where nobody did."""
    times = np.sort(times_s[np.isfinite(times_s)])
    if not len(times):
        return float("nan")
    until = np.searchsorted(times, times + FLOW_WINDOW_S, side="left")
    return float((until - np.arange(len(times))).max() / FLOW_WINDOW_S / width_m)


def across_shares(recording: Recording) -> Array:
    """Where across the course did everybody pass every mark? (N, C), 0 the left edge, 1 the right; nan: not.

    Straight from the frame before the moment of crossing to the one after.
    Check: tests/unit/trials/test_seen_races.py (files at known places across).
    """
    cuts = recording.strip.checkpoint_cuts()
    left, right = recording.strip.left_m[cuts], recording.strip.right_m[cuts]
    last = len(recording.times_s) - 1
    frame_s = recording.scenario.clock.frame_s
    at = np.nan_to_num(recording.crossing_s) / frame_s
    before = np.minimum(at.astype(int), last)
    after = np.minimum(before + 1, last)
    who = np.arange(len(recording.roster))[:, None]
    part = np.clip(at - before, 0.0, 1.0)[..., None]
    first, then = recording.position_m[before, who], recording.position_m[after, who]
    then = np.where(np.isfinite(then), then, first)
    place = (1 - part) * first + part * then
    across = ((place - left) * (right - left)).sum(axis=-1) / ((right - left) ** 2).sum(axis=-1)
    return np.where(np.isfinite(recording.crossing_s), across, np.nan)
