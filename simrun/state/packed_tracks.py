"""How are tracks kept in a file? As the few places where their lines turn, to the last bit."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.state.frame_budget import too_large
from simrun.state.tracks import CHAIN, MILLIMETRES, NOT_REACHED, WAYS, Tracks, held

Long = NDArray[np.int64]

BYTES = 4
"""Of every whole number of a file."""


def packed_tracks(tracks: Tracks) -> dict[str, NDArray[Any]]:
    """The two arrays of a file.

    track_begins (2, W, N): start_m and leaves_s. track_turns (4, L): whole numbers of four bytes, all the
    lowest bytes first. They are how many places there are (M), the steps from place to place in
    millimetres (M), how many places were reached (W N), and then, M runners after M runners along CHAIN, the
    turns that are not nought: how many numbers after the turn before each stands, and by how many
    milliseconds. A turn is the change of the change, from place to place, of what a way is later than
    the one before.
    """
    reached = tracks.reached_ms.astype(np.int64)
    known = reached != NOT_REACHED
    before, turns = np.zeros(reached.shape[1:], np.int64), []
    for way in CHAIN:
        later = held(reached[way] - before, known[way])
        turns.append(np.diff(np.diff(later, axis=1, prepend=0), axis=1, prepend=0).T)
        before = before + later
    flat = np.stack(turns).ravel()
    where = np.flatnonzero(flat)
    steps_mm = np.diff(np.round(MILLIMETRES * tracks.at_m).astype(np.int64), prepend=0)
    numbers = [[len(tracks)], steps_mm, known.sum(axis=2).ravel()]
    numbers += [np.diff(where, prepend=-1), flat[where]]
    return {
        "track_begins": np.stack([tracks.start_m, tracks.leaves_s]),
        "track_turns": _bytes_of(np.concatenate(numbers)),
    }


def unpacked_tracks(arrays: dict[str, NDArray[Any]]) -> Tracks:
    """The tracks of a file. Raises ValueError where its arrays do not fit together."""
    if "track_turns" not in arrays:
        return _older_tracks(arrays)
    begins, numbers = arrays["track_begins"], _numbers_of(arrays["track_turns"])
    if begins.ndim != 3 or begins.shape[:2] != (2, len(WAYS)):
        raise ValueError("tracks of other ways of running alone")
    count, places = begins.shape[2], int(numbers[0])
    steps_mm, reached, rest = np.split(numbers[1:], [places, places + len(WAYS) * count])
    if wrong := too_large(8 * len(WAYS) * count * places):
        raise ValueError(wrong)
    apart, turned = rest.reshape(2, -1)
    flat = np.zeros(len(WAYS) * places * count, np.int64)
    flat[np.cumsum(apart) - 1] = turned
    turns = flat.reshape(len(WAYS), places, count).transpose(0, 2, 1)
    ms = np.cumsum(np.cumsum(np.cumsum(turns, axis=2), axis=2), axis=0)[_unchained()]
    return _whole(np.cumsum(steps_mm) / MILLIMETRES, begins, ms, reached.reshape(len(WAYS), count))


def _unchained() -> list[int]:
    """Where in CHAIN every way stands."""
    return [CHAIN.index(way) for way in range(len(WAYS))]


def _bytes_of(numbers: Long) -> NDArray[np.uint8]:
    """Small numbers of either sign as small ones of none, and byte by byte: most bytes are then noughts."""
    small = (numbers << 1) ^ (numbers >> 63)
    if small.max() >= 2 ** (8 * BYTES):
        raise ValueError("a track that takes longer than any race")
    return np.ascontiguousarray(small.astype("<u4").view(np.uint8).reshape(-1, BYTES).T)


def _numbers_of(kept: NDArray[np.uint8]) -> Long:
    if kept.dtype != np.uint8 or kept.ndim != 2 or len(kept) != BYTES:
        raise ValueError("tracks of another kind")
    small = np.ascontiguousarray(kept.T).view("<u4").ravel().astype(np.int64)
    return (small >> 1) ^ -(small & 1)


def _whole(at_m: Any, begins: Any, reached_ms: Long, count: NDArray[Any]) -> Tracks:
    """Tracks of which the first places, count (W, N), were reached."""
    there = np.arange(len(at_m)) < count[:, :, None]
    steps = np.diff(reached_ms, axis=2)
    if (steps[there[:, :, 1:]] < 0).any() or reached_ms[there].max(initial=0) >= 2**31:
        raise ValueError("a track that runs back in time")
    ms = np.where(there, reached_ms, NOT_REACHED).astype(np.int32)
    start_m, leaves_s = begins
    return Tracks(at_m, start_m, leaves_s, ms)


def _older_tracks(arrays: dict[str, NDArray[Any]]) -> Tracks:
    """Up to format 5, note by note: changes from place to place, up to 4 changes of changes of every way."""
    chained = "track_changes" in arrays
    changes, count = arrays["track_changes" if chained else "track_ms"], arrays["track_reached"]
    if changes.ndim != 3 or changes.shape[:2] != count.shape or changes.dtype.kind != "i":
        raise ValueError("tracks of other runners, or of another kind")
    if chained and len(changes) != len(WAYS):
        raise ValueError("tracks of other ways of running alone")
    whole = changes.astype(np.int64)
    if chained:
        whole[0] = np.cumsum(whole[0], axis=1)
        ms = np.cumsum(np.cumsum(whole, axis=2), axis=0)[_unchained()]
    else:
        ms = np.cumsum(np.cumsum(np.cumsum(whole, axis=2), axis=2), axis=0)
    return _whole(arrays["track_at"], (arrays["track_start"], arrays["track_leaves"]), ms, count)
