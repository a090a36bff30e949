"""What a watch wrote becomes evenly spaced points of the way, and how much the watch wanders."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.drawing.drawn_features import refuse

Array = NDArray[np.float64]

EVEN_M = 4.0
"""Points of the way lie so far apart."""

SMOOTH_S = 3.0
"""The way gone is measured on a line smoothed over so many seconds (a bell's standard deviation)."""

STANDING_OVER_S, STANDING_NEAR_S = 8, 3
STANDING_SHARE = 0.35
"""Who gets less than this share of the usual way in so many seconds is standing (assumed)."""

SHORTEST_M, LONGEST_M = 100.0, 20000.0
"""Shorter or longer than any race of the kind."""

GAP_S = 4.0
"""A recording that writes nothing for longer, and for three times as long as it usually does, has a gap."""

UNSEEN = 0.02
"""So much counts a point of a gap beside one that was recorded: who turned in it was not on the line
across it."""

JUMP_M_S = 12.0
"""Nobody runs a course faster: a point that would need more is a slip of the watch."""

LEAST_WANDER_M2_M, MOST_WANDER_M2_M = 0.015, 1.5
"""Growth of the error's variance on a metre of the way, each axis: that of a very good and of a very bad
watch."""

LAGS_M = (8.0, 16.0, 28.0)
QUIET_SHARE = 0.35


@dataclass(frozen=True)
class Walk:
    """The way that was gone, P points EVEN_M apart by the smoothed line: points (P, 2), heights (P,) or
    nan.

    along_m (P,): metres of the smoothed way. wander_m2_m: how fast the error's variance grows on the way,
    each axis. still: how many stops were left out, and for how many seconds.
    """

    points_m: Array
    height_m: Array
    along_m: Array
    wander_m2_m: float
    still: tuple[int, float] = (0, 0.0)
    unseen: NDArray[np.bool_] | None = None

    @property
    def sure(self) -> Array:
        """How much every point counts, (P,): hardly, where nothing was recorded and a straight line
        stands in."""
        return (
            np.ones(len(self.points_m))
            if self.unseen is None
            else np.where(self.unseen, UNSEEN, 1.0)
        )


def walk_of(
    points_m: Array,
    height_m: Array,
    time_s: Array,
    span_m: tuple[float, float | None] = (0.0, None),
) -> Walk:
    """Evenly spaced points of what was recorded, without standing about and slips of the watch.

    span_m: which metres of the way are the course. Raises BadInput where nothing is left. Check:
    tests/unit/course/test_watch_walk.py.
    """
    sane = _without_jumps(points_m, time_s)
    points, height, time = points_m[sane], height_m[sane], time_s[sane]
    second = np.arange(time[0], time[-1] + 0.5)
    if len(second) < 2 * STANDING_OVER_S:
        refuse("track", f"{len(second)} s long", f"at least {2 * STANDING_OVER_S} s")
    line = np.stack([np.interp(second, time, points[:, axis]) for axis in (0, 1)], axis=1)
    moves, missed = _moves(line), _missed(second, time)
    if moves.sum() < STANDING_OVER_S:
        refuse("track", "stays in one place", "a line that goes somewhere")
    known = np.isfinite(height)
    level = (
        np.interp(second, time[known], height[known])
        if known.any()
        else np.full(len(second), np.nan)
    )
    kept, level, missed = line[moves], level[moves], missed[moves]
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(_smooth(kept), axis=0).T)))
    keep = np.append(True, np.diff(along) > 1e-6)
    along, kept, level, missed = along[keep], kept[keep], level[keep], missed[keep]
    low, high = _span(along, span_m)
    even = np.linspace(low, high, max(2, round((high - low) / EVEN_M)) + 1)
    columns = (kept[:, 0], kept[:, 1], level)
    x, y, level = (np.interp(even, along, column) for column in columns)
    way = np.stack([x, y], axis=1)
    unseen = np.interp(even, along, missed.astype(float)) > 0.5
    stops = int((np.diff(moves.astype(int)) == -1).sum())
    return Walk(way, level, even - low, _wander_m2_m(way), (stops, float((~moves).sum())), unseen)


def _missed(second: Array, time_s: Array) -> NDArray[np.bool_]:
    """At which seconds was nothing recorded for much longer than from one point to the next? (P,)"""
    wait = np.diff(time_s)
    behind = np.clip(np.searchsorted(time_s, second, side="right") - 1, 0, len(wait) - 1)
    inside = (second > time_s[behind]) & (second < time_s[behind + 1])
    return np.asarray((wait[behind] > max(GAP_S, 3 * float(np.median(wait)))) & inside)


def _span(along: Array, span_m: tuple[float, float | None]) -> tuple[float, float]:
    low, high = span_m[0], along[-1] if span_m[1] is None else min(span_m[1], along[-1])
    if not 0 <= low < high - SHORTEST_M:
        found = f"{max(high - low, 0.0):.0f} m of {along[-1]:.0f} m"
        refuse("track", found, f"a course of at least {SHORTEST_M:.0f} m")
    if high - low > LONGEST_M:
        refuse("track", f"{(high - low) / 1000:.0f} km", f"at most {LONGEST_M / 1000:.0f} km")
    return low, float(high)


def _without_jumps(points: Array, time_s: Array) -> NDArray[np.bool_]:
    """Which points can be reached from the last one that was kept?"""
    keep = np.ones(len(points), dtype=bool)
    last, refused = 0, 0
    for k in range(1, len(points)):
        wait = time_s[k] - time_s[last]
        near = np.hypot(*(points[k] - points[last])) <= JUMP_M_S * max(wait, 1.0)
        # Five in a row that are far away: the watch has found itself again.
        keep[k] = wait > 0 and (near or refused >= 5)
        last, refused = (k, 0) if keep[k] else (last, refused + (wait > 0))
    return keep


def _smooth(line: Array) -> Array:
    """The line smoothed along time, mirrored through its ends so that they stay where they are."""
    from scipy.ndimage import gaussian_filter1d

    pad = min(len(line) - 1, int(4 * SMOOTH_S))
    before, after = 2 * line[0] - line[pad:0:-1], 2 * line[-1] - line[-2 : -pad - 2 : -1]
    long = gaussian_filter1d(np.vstack([before, line, after]), SMOOTH_S, axis=0)
    return np.asarray(long[pad : pad + len(line)])


def _moves(line: Array) -> NDArray[np.bool_]:
    """At which seconds does somebody get ahead? (P,)

    Who stands gets nowhere, neither in the seconds before nor in those after; who rounds a hairpin comes
    back to where they were, but both before and after they get ahead.
    """
    from scipy.ndimage import binary_dilation

    after, about = _speed(line, 0, STANDING_OVER_S), _speed(line, STANDING_NEAR_S, STANDING_NEAR_S)
    before = _speed(line, STANDING_OVER_S, 0)
    slow = STANDING_SHARE * np.median(after[after > 0.3] if (after > 0.3).any() else after)
    stands = np.maximum(before, after) < slow
    reach = np.ones(2 * STANDING_OVER_S + 1, dtype=bool)
    return ~(binary_dilation(stands, reach) & (about < slow))


def _speed(line: Array, back_s: int, on_s: int) -> Array:
    """Metres a second from so many seconds before to so many after, (P,)."""
    number = np.arange(len(line))
    before, after = np.clip(number - back_s, 0, None), np.clip(number + on_s, None, len(line) - 1)
    return np.hypot(*(line[after] - line[before]).T) / np.maximum(after - before, 1)


def _wander_m2_m(way: Array) -> float:
    """How fast the error grows: from how two steps that follow one another differ, at several lengths.

    On a straight the difference of two steps of length s has the variance 2 s times this on each axis.
    Most of the way is straight, so the quiet part of the differences is looked at; the largest of the
    lengths counts, because a watch smooths what it writes over a few seconds.
    """
    found = []
    for lag_m in LAGS_M:
        lag = max(1, round(lag_m / EVEN_M))
        bend = way[2 * lag :] - 2 * way[lag:-lag] + way[: -2 * lag]
        if len(bend) < 10:
            continue
        square = np.quantile((bend**2).sum(axis=1), QUIET_SHARE)
        found.append(square / (-2 * np.log(1 - QUIET_SHARE)) / (2 * lag * EVEN_M))
    wander = max(found, default=LEAST_WANDER_M2_M)
    return float(np.clip(wander, LEAST_WANDER_M2_M, MOST_WANDER_M2_M))
