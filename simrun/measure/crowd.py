"""How crowded was one race? Density, flow at the narrowing, slow seconds, and when the field was strung out.

Everything comes from a Recording alone and stops at the last mark. None of it is a probability of anything.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields

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


PLACE_NAMES = ("queue_s", "slow_s", "density_per_m2", "flow_per_s_m")
"""What is told of every place (`measure.crowd_places`)."""


@dataclass(frozen=True)
class CrowdFigures:
    """One race as a crowd, up to its last mark; nan where there was nothing to measure.

    slowed_share: of all runners, those below half of their wished speed for 1 s or longer in all, once
    they had reached it. queue_s: what the others cost a runner, mean of the field, out of the account of the
    time lost: all of its part traffic, waiting for those in front to set off and being held up included.
    slow_s: seconds below half of the wished speed, mean of the field. density_per_m2: the highest over
    1 m2 and 1 s, 10 m off the line or further, at density_x_m, density_y_m (middle of the square) and
    density_s. flow_per_s_m: through the first narrowing, per metre of its width, in its busiest 10 s.
    strung_out_s: from when on the field is strung out, seconds after the gun. by_place: the same on every
    one of P places of the course, (P, 4), columns as PLACE_NAMES.
    """

    slowed_share: float
    queue_s: float
    slow_s: float
    density_per_m2: float
    density_x_m: float
    density_y_m: float
    density_s: float
    flow_per_s_m: float
    strung_out_s: float
    by_place: Array = field(default_factory=lambda: np.zeros((0, len(PLACE_NAMES))))


CROWD_NAMES = tuple(each.name for each in fields(CrowdFigures) if each.name != "by_place")


def as_array(figures: CrowdFigures) -> Array:
    """The figures in the order of CROWD_NAMES, then those of the places, row by row: (9 + 4 P,)."""
    whole = [getattr(figures, name) for name in CROWD_NAMES]
    return np.concatenate([np.array(whole), figures.by_place.ravel()])


def from_array(values: Array) -> CrowdFigures:
    """The figures out of what `as_array` made. Raises ValueError where it did not."""
    whole, places = values[: len(CROWD_NAMES)], values[len(CROWD_NAMES) :]
    if len(whole) < len(CROWD_NAMES) or len(places) % len(PLACE_NAMES):
        raise ValueError(len(values))
    told = dict(zip(CROWD_NAMES, whole.tolist(), strict=True))
    return CrowdFigures(**told, by_place=places.reshape(-1, len(PLACE_NAMES)))


def frame_s(recording: Recording) -> float:
    """How long is it from one frame to the next?"""
    return float(recording.times_s[1] - recording.times_s[0])


def in_study(recording: Recording) -> NDArray[np.bool_]:
    """Who is still on the way to the last mark? (T, N): beyond it the study has ended."""
    done = np.where(np.isnan(recording.crossing_s[:, -1]), np.inf, recording.crossing_s[:, -1])
    return np.asarray(recording.times_s[:, None] < done[None, :])


def _speed_share(recording: Recording) -> Array:
    """Speed over wished speed, (T, N), nan before the first stride at half of it and after the end."""
    speed, wished = recording.speed_m_s.astype(float), recording.wished_m_s.astype(float)
    share = np.divide(speed, wished, out=np.full_like(speed, np.nan), where=wished > 0)
    under_way = np.logical_or.accumulate(share >= SLOW_SHARE, axis=0)
    return np.where(under_way & in_study(recording), share, np.nan)


def is_slow(recording: Recording) -> NDArray[np.bool_]:
    """Who is below half of the wished speed, once it had been reached? (T, N)"""
    return np.asarray(_speed_share(recording) < SLOW_SHARE)


def slow_seconds(recording: Recording) -> Array:
    """For how long was everybody below half of the wished speed, once it had been reached? (N,)"""
    return np.asarray(is_slow(recording).sum(axis=0) * frame_s(recording))


def strung_out_s(recording: Recording) -> float:
    """From when on is at most a tenth of the field held below nine tenths of its wished speed?

    nan where that is still so in the last second: the race ended too early to tell.
    """
    held = (_speed_share(recording) < HELD_SHARE).mean(axis=1)
    crowded = np.flatnonzero(held > HELD_FIELD)
    last = int(crowded[-1]) if len(crowded) else -1
    if last + 1 >= len(held) - WINDOW_S / frame_s(recording):
        return float("nan")
    return float(recording.times_s[last + 1])


@dataclass(frozen=True)
class Squares:
    """The squares of 1 m2 that somebody stood on within one second, Q of them, in order of x, then y.

    count (Q,): how many points of runners lie on each; x_m, y_m (Q,): its middle; place (Q,): the number of
    the place of the course of the middle one of its points.
    """

    count: NDArray[np.int64]
    x_m: Array
    y_m: Array
    place: NDArray[np.int64]


def squares_of(points_m: Array, place: NDArray[np.int64] | None = None) -> Squares:
    """How many of these points (n, 2) lie on every square metre of a raster of half metres?"""
    part = np.floor(points_m / PART_M).astype(np.int64)
    low = part.min(axis=0) - 1
    rows = int(part[:, 1].max() - low[1]) + 1
    steps = np.array([0, -rows, -1, -rows - 1])
    keys = ((part[:, 0] - low[0]) * rows + part[:, 1] - low[1])[:, None] + steps
    places = np.repeat(np.zeros(len(points_m), np.int64) if place is None else place, len(steps))
    order = np.lexsort((places, keys.ravel()))
    square, first, count = np.unique(keys.ravel()[order], return_index=True, return_counts=True)
    x_m, y_m = (
        (each + offset) * PART_M + SQUARE_M / 2
        for each, offset in zip(np.divmod(square, rows), low, strict=True)
    )
    return Squares(count, x_m, y_m, places[order][first + count // 2])


def squares_by_second(
    recording: Recording, place: NDArray[np.int64] | None = None
) -> Iterator[tuple[float, Squares]]:
    """Second by second: when it began, and its squares with people a square metre as the count's mean.

    Counted is who is 10 m off their own place or further and still on the way to the last mark. place (T, N):
    the number of the place of the course that everybody is on.
    """
    position = recording.position_m.astype(float)
    away = np.hypot(*np.moveaxis(position - position[0], 2, 0)) >= CLEAR_OF_LINE_M
    counted, frames = away & in_study(recording), frames_a_second(recording)
    for first in range(0, len(position) - frames + 1, frames):
        window = slice(first, first + frames)
        here = counted[window]
        if here.any():
            on = None if place is None else place[window][here]
            yield float(recording.times_s[first]), squares_of(position[window][here], on)


def frames_a_second(recording: Recording) -> int:
    """How many frames make one second?"""
    return max(1, round(WINDOW_S / frame_s(recording)))


def highest_density(recording: Recording) -> tuple[float, float, float, float]:
    """The most people on 1 m2, mean of 1 s: how many, where (x, y), and when? nan where nobody came by."""
    best, frames = (np.nan,) * 4, frames_a_second(recording)
    for when, squares in squares_by_second(recording):
        at = int(squares.count.argmax())
        if not squares.count[at] / frames <= best[0]:
            where = float(squares.x_m[at]), float(squares.y_m[at])
            best = (float(squares.count[at] / frames), *where, when)
    return best


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
    Check: tests/unit/measure/test_across.py.
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


def slowest_to_marks(recording: Recording) -> Array:
    """How slow was everybody at the slowest on the way to every mark from the one before? (N, C) m/s.

    nan on the way to the first mark, since everybody stands at the gun, and for who did not come so far. By
    the frames between the two moments; where there is none, by the last before.
    Check: tests/unit/measure/test_across.py.
    """
    speed = recording.speed_m_s
    at = recording.crossing_s / recording.scenario.clock.frame_s
    slowest = np.full(at.shape, np.nan)
    for who, mark in np.argwhere(np.isfinite(at[:, 1:])):
        last = min(int(at[who, mark + 1]), len(speed) - 1)
        first = min(int(np.ceil(at[who, mark])), last)
        slowest[who, mark + 1] = speed[first : last + 1, who].min()
    return slowest
