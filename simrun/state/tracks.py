"""Where would the same runners have been, moment by moment, with nobody near? A few bytes a runner."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Whole = NDArray[np.int32]

WAYS = ("own", "shortest", "best", "raced")
"""The ways of running alone: own box and own line, own box and shortest line, the reference box and the
shortest line; and own box and own line, wishing for what was wished in the race because of the others."""

CHAIN = (2, 1, 0, 3)
"""In this order a file keeps the ways, each as what it differs from the one before."""

NOT_REACHED = -1
FINE_M, NEAR_M, FAR_M = 0.1, 0.5, 5.0
FINE_FOR_M, NEAR_FOR_M = 2.0, 30.0
TINY_M = 1e-6


@dataclass(frozen=True)
class Tracks:
    """The alone-runs of N runners by place: four ways (WAYS), M places along the measured line.

    at_m (M,): metres along it. start_m, leaves_s (4, N): where each stood, and when each began to move.
    reached_ms (4, N, M): when each place was reached, whole milliseconds since the gun, NOT_REACHED where
    not within the limit; before their own start the moment of leaving it.
    """

    at_m: Array
    start_m: Array
    leaves_s: Array
    reached_ms: Whole

    def __len__(self) -> int:
        return len(self.at_m)

    def reached_s(self, way: str, runner: int) -> Array:
        """When did this runner reach every place alone? (M,) seconds, nan where not."""
        found = self.reached_ms[WAYS.index(way), runner]
        return np.where(found == NOT_REACHED, np.nan, found / 1000.0)


def no_tracks(runners: int) -> Tracks:
    """Of a race whose alone-runs kept no tracks."""
    nothing = np.zeros((len(WAYS), runners))
    return Tracks(np.zeros(0), nothing, nothing.copy(), np.zeros((*nothing.shape, 0), np.int32))


def places_m(first_m: float, last_start_m: float, end_m: float) -> Array:
    """At which metres is a track kept? Close together where runners set off from rest, then wider. (M,)"""
    fine = np.arange(first_m, last_start_m + FINE_FOR_M, FINE_M)
    near = np.arange(last_start_m + FINE_FOR_M, min(end_m, NEAR_FOR_M), NEAR_M)
    far = np.arange(max(NEAR_FOR_M, last_start_m + FINE_FOR_M), end_m, FAR_M)
    whole = np.unique(np.concatenate([fine, near, far]))
    # Ranges may meet in one place twice, a rounding apart.
    apart = np.diff(whole, append=np.inf) > TINY_M
    return np.append(whole[apart & (whole < end_m - TINY_M)], end_m)


def packed_tracks(tracks: Tracks) -> dict[str, NDArray[Any]]:
    """The arrays of a file: how many places were reached, and the milliseconds as changes.

    Each way of CHAIN is kept as what it is later than the one before, and that as changes from place to
    place; of the first way, changes of changes. Nobody races: the last way is all noughts.
    """
    known = tracks.reached_ms != NOT_REACHED
    held = np.maximum.accumulate(np.where(known, tracks.reached_ms, 0), axis=2)
    later = np.diff(held[list(CHAIN)], axis=0, prepend=0)
    changes = np.diff(later, axis=2, prepend=0)
    changes[0] = np.diff(changes[0], axis=1, prepend=0)
    fits = np.abs(changes).max(initial=0) < 2**15
    return {
        "track_at": tracks.at_m,
        "track_start": tracks.start_m,
        "track_leaves": tracks.leaves_s,
        "track_reached": known.sum(axis=2).astype(np.int32),
        "track_changes": changes.astype(np.int16 if fits else np.int32),
    }


def unpacked_tracks(arrays: dict[str, NDArray[Any]]) -> Tracks:
    """The tracks of a file. Raises ValueError where its arrays do not fit together."""
    is_older = "track_changes" not in arrays
    changes, count = arrays["track_ms" if is_older else "track_changes"], arrays["track_reached"]
    if changes.ndim != 3 or changes.shape[:2] != count.shape or changes.dtype.kind != "i":
        raise ValueError("tracks of other runners, or of another kind")
    reached = _older_ms(changes) if is_older else _chained_ms(changes)
    if np.diff(reached, axis=2).min(initial=0) < 0 or reached.max(initial=0) > 2**31 - 1:
        raise ValueError("a track that runs back in time")
    there = np.arange(changes.shape[2]) < count[:, :, None]
    ms = np.where(there, reached, NOT_REACHED).astype(np.int32)
    return Tracks(arrays["track_at"], arrays["track_start"], arrays["track_leaves"], ms)


def _chained_ms(changes: NDArray[Any]) -> NDArray[np.int64]:
    if len(changes) != len(WAYS):
        raise ValueError("tracks of other ways of running alone")
    whole = changes.astype(np.int64)
    whole[0] = np.cumsum(whole[0], axis=1)
    chained = np.cumsum(np.cumsum(whole, axis=2), axis=0)
    return chained[[CHAIN.index(way) for way in range(len(WAYS))]]


def _older_ms(changes: NDArray[Any]) -> NDArray[np.int64]:
    """Up to format 4: changes of changes from way to way and from place to place."""
    sums = np.cumsum(np.cumsum(changes.astype(np.int64), axis=2), axis=2)
    return np.cumsum(sums, axis=0)
