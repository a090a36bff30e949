"""Who is near on the way? Nearest of ours, rivals within ten metres, and where a runner is alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

NEAR_M = 10.0
"""So far along the course somebody is near: two seconds and a half at race pace."""

MOSTLY = 0.5
"""Near on a stretch is who is near on more than this share of it."""


@dataclass(frozen=True)
class Company:
    """Who was near R runners on one stretch of one race.

    ours (R,): rows of the field. gap_m (R, R): the middle of how far each of ours (column) was ahead of each
    (row), nan of oneself and where it cannot be told. near (R, N): who was within NEAR_M on more than half of
    the stretch. rivals (R,): how many of other teams were, in the mean. alone (R,): was nobody at all near
    on more than half of it? ahead, ahead_m (R,): the row of the nearest ahead of whatever team, at the end
    of the stretch or where there last was one, -1 and nan where nobody is.
    """

    ours: NDArray[np.int64]
    gap_m: Array
    near: Flags
    rivals: Array
    alone: Flags
    ahead: NDArray[np.int64]
    ahead_m: Array


def company(
    station_m: Array, crossing_s: Array, ours: Flags, from_m: float, to_m: float
) -> Company:
    """Who was near every one of ours between two places of the measured line? One race, N runners, C marks.

    station_m (C,), crossing_s (N, C): when everybody crossed these marks; ours (N,). At every mark of the
    stretch that one of ours crosses, everybody else is where they are by their own times, at even pace from
    mark to mark. Beyond the last mark nobody is told from where, so it is left out. Distances are along
    the measured line: on a wide field people may still be far apart sideways.
    Formula: gap(i, j) = station of j at the moment i crosses the mark - station of the mark.
    Check: tests/unit/measure/test_squad.py (closed form: even paces; nobody else; everybody equal).
    """
    rows = np.flatnonzero(ours)
    marks = np.flatnonzero((station_m > from_m) & (station_m <= to_m))
    marks = marks[marks < len(station_m) - 1]
    gaps = np.stack([_gaps(station_m, crossing_s, int(row), marks) for row in rows])
    near = np.abs(gaps) <= NEAR_M
    own = rows[:, None] == np.arange(len(ours))
    near &= ~own[:, None, :]
    told = np.isfinite(gaps[np.arange(len(rows)), :, rows])
    marked = np.maximum(told.sum(axis=1), 1)
    lonely = (told & ~near.any(axis=2)).sum(axis=1) / marked
    among = gaps[:, :, rows].copy()
    among[np.arange(len(rows)), :, np.arange(len(rows))] = np.nan
    ahead, ahead_m = _nearest_ahead(gaps, own)
    return Company(
        rows,
        _middle(among),
        near.sum(axis=1) > MOSTLY * marked[:, None],
        (near & ~ours).sum(axis=(1, 2)) / marked,
        (lonely > MOSTLY) & told.any(axis=1),
        ahead,
        ahead_m,
    )


def _gaps(station_m: Array, crossing_s: Array, row: int, marks: NDArray[np.int64]) -> Array:
    """How far is everybody ahead of one runner at every mark? (M, N) metres, nan where not known."""
    moments = crossing_s[row, marks]
    at = np.array([_where(station_m, times, moments) for times in crossing_s])
    return np.asarray((at - station_m[marks]).T)


def _where(station_m: Array, times_s: Array, moments: Array) -> Array:
    """Where on the measured line was somebody at these moments? nan beyond their last mark."""
    known = np.isfinite(times_s)
    if not known.any():
        return np.full(len(moments), np.nan)
    clock = np.concatenate([[0.0], times_s[known]])
    place = np.concatenate([[0.0], station_m[known]])
    return np.interp(moments, clock, place, right=np.nan)


def _middle(gaps: Array) -> Array:
    """The median over the marks, (R, R), nan where there is none."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        return (
            np.asarray(np.nanmedian(gaps, axis=1)) if gaps.shape[1] else gaps.sum(axis=1) * np.nan
        )


def _nearest_ahead(gaps: Array, own: Flags) -> tuple[NDArray[np.int64], Array]:
    """Who runs next ahead at the last mark of the stretch at which anybody is, and how far?"""
    rows = np.arange(len(gaps))
    if not gaps.shape[1]:
        return np.full(len(rows), -1), np.full(len(rows), np.nan)
    ahead = np.where(own[:, None, :] | ~(gaps > 0), np.inf, gaps)
    known = np.isfinite(ahead).any(axis=2)
    # Whoever has finished is nowhere any more: the last mark counts at which somebody still was.
    last = np.where(known, np.arange(gaps.shape[1]), 0).max(axis=1)
    there = ahead[rows, last]
    found = there.argmin(axis=1)
    metres = there[rows, found]
    told = np.isfinite(metres)
    return np.where(told, found, -1), np.where(told, metres, np.nan)
