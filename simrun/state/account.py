"""One account of the time lost: for every runner and moment, against running alone, in its four parts.

Everybody who tells what was lost reads this account; its figures at a mark are those of `time_lost`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadRecording
from simrun.course.station import progress_m
from simrun.state.recording import Recording
from simrun.state.tracks import WAYS

Array = NDArray[np.float64]

STANDS_M = 0.02
"""Nearer than this to their own place a runner has not left it: frames are kept to the centimetre."""

BEFORE_M = 1e-9
"""A runner not yet over a mark is at least so far before it, whatever the frame was rounded to."""


@dataclass(frozen=True)
class Account:
    """Seconds lost so far, T moments, N runners; nan once nobody can tell (see `lost_so_far`).

    times_s (T,). box_s, line_s, traffic_s, racing_s (T, N): the four parts of `time_lost`. place_m (T,
    N): the furthest that each has come along the measured line, at most to where the account ends.
    """

    times_s: Array
    box_s: Array
    line_s: Array
    traffic_s: Array
    racing_s: Array
    place_m: Array

    @property
    def lost_s(self) -> Array:
        """Everything that was lost, (T, N): the sum of the four."""
        return self.box_s + self.line_s + self.traffic_s + self.racing_s


@dataclass(frozen=True)
class Passed:
    """When did everybody come to P places, in the field and alone? Seconds since the gun, (N, P) each.

    field_s, own_s, shortest_s, best_s: in the race; alone from their own box on their own line; alone on the
    shortest line; the same from the reference box; raced_s: alone on their own line, wishing for what was
    wished in the race. nan where a place was not come to.
    """

    field_s: Array
    own_s: Array
    shortest_s: Array
    best_s: Array
    raced_s: Array


def lost_so_far(recording: Recording, times_s: Array | None = None) -> Account:
    """How much has everybody lost at every moment, and to what? times_s (T,): the frames unless told.

    Formula: a runner who has come to place p by moment t has lost t - best(p), of which box = shortest(p) -
    best(p), line = own(p) - shortest(p), racing = raced(p) - own(p), traffic = t - raced(p): what the same
    runner takes to p alone. Who
    still stands has lost what has passed since they would have left. At a mark these are the figures of
    `time_lost`, and after the last mark they stay: there the study ends. nan where the same runner
    alone did not come so far within the time limit. Raises BadRecording where no frames were kept.
    Check: tests/unit/measure/test_account.py, tests/properties/test_account_adds_up.py.
    """
    ways = _Ways(recording)
    moments = recording.times_s if times_s is None else np.asarray(times_s, dtype=np.float64)
    parts = np.empty((5, len(moments), len(recording.roster)))
    for i in range(len(recording.roster)):
        clock, place = ways.field_at(i, moments)
        own, shortest, best, raced = (ways.alone_at(i, way, place, clock) for way in WAYS)
        parts[:, :, i] = shortest - best, own - shortest, clock - raced, raced - own, place
    return Account(moments, *parts)


def passed_at(recording: Recording, place_m: Array) -> Passed:
    """When did everybody first come to these places, in the field and alone? place_m (P,) or (N, P).

    Places beyond the last mark are not told. Raises BadRecording where no frames were kept.
    """
    ways, count = _Ways(recording), len(recording.roster)
    places = np.broadcast_to(place_m, (count, np.shape(place_m)[-1]))
    found = np.empty((1 + len(WAYS), *places.shape))
    for i, place in enumerate(places):
        found[0, i] = ways.field_when(i, place)
        for k, way in enumerate(WAYS):
            found[1 + k, i] = ways.alone_at(i, way, place, found[0, i])
    return Passed(*found)


def _eased(away_m: Array) -> Array:
    """A scale on which the first metre from rest takes even times: the root of it, straight from there on."""
    near = np.sqrt(np.clip(away_m, 0.0, 1.0))
    return np.where(away_m > 1.0, 0.5 + 0.5 * away_m, near)


class _Ways:
    """Where everybody was when, with the recorded crossings of the marks as nodes."""

    def __init__(self, recording: Recording) -> None:
        if not len(recording.times_s) or not len(recording.tracks):
            raise BadRecording("no account of a race of which only the times were kept")
        self.recording, self.tracks = recording, recording.tracks
        self.mark_m = np.array([mark.station_m for mark in recording.strip.checkpoints])
        self.place_m = progress_m(recording.strip, recording.position_m)
        self.marks_s = dict(
            zip(
                WAYS,
                (recording.alone_s, recording.shortest_s, recording.best_s, recording.raced_s),
                strict=True,
            )
        )

    def field_at(self, runner: int, moments: Array) -> tuple[Array, Array]:
        """The moment, but no later than the last mark was crossed, and how far the runner had come."""
        times, place = self._field(runner)
        done = self.recording.crossing_s[runner, -1]
        clock = np.minimum(moments, done) if done == done else moments
        return clock, np.interp(clock, times, place)

    def field_when(self, runner: int, place_m: Array) -> Array:
        """When did the runner first come to these places? nan where not."""
        times, place = self._field(runner)
        place, first = np.unique(place, return_index=True)
        return np.interp(place_m, place, times[first], left=0.0, right=np.nan)

    def alone_at(self, runner: int, way: str, place_m: Array, clock: Array) -> Array:
        """When would the same runner have come to these places alone?

        clock: the moment in the race. At their own place it is that moment until the runner alone leaves.
        """
        start, times, place = self._alone(runner, way)
        found = np.interp(_eased(place_m - start), _eased(place - start), times, right=np.nan)
        return np.where(place_m <= start + STANDS_M, np.fmin(found, clock), found)

    def _field(self, runner: int) -> tuple[Array, Array]:
        """Moments and how far the runner had come, the crossings of marks among them."""
        crossed = self.recording.crossing_s[runner]
        known = np.isfinite(crossed)
        mark_s, mark_m = crossed[known], self.mark_m[known]
        passed = np.searchsorted(mark_s, self.recording.times_s, side="right")
        low = np.concatenate([[-np.inf], mark_m])[passed]
        high = np.concatenate([mark_m, [self.mark_m[-1]]])[passed] - BEFORE_M
        place = np.nan_to_num(self.place_m[:, runner], nan=np.inf)
        place = np.maximum(np.minimum(place, high), low)
        times = np.concatenate([self.recording.times_s, mark_s])
        order = np.argsort(times, kind="stable")
        whole = np.concatenate([place, mark_m])[order]
        return times[order], np.maximum.accumulate(whole)

    def _alone(self, runner: int, way: str) -> tuple[float, Array, Array]:
        """The place stood at, and moments and places alone, the crossings of marks among them."""
        k, crossed = WAYS.index(way), self.marks_s[way][runner]
        start, leaves = self.tracks.start_m[k, runner], self.tracks.leaves_s[k, runner]
        at_m, reached = self.tracks.at_m, self.tracks.reached_s(way, runner)
        known = np.isfinite(crossed)
        mark_s, mark_m = crossed[known], self.mark_m[known]
        apart = np.abs(at_m[:, None] - self.mark_m[None]).min(axis=1) > BEFORE_M
        kept = np.isfinite(reached) & (at_m > start) & apart
        passed = np.searchsorted(mark_m, at_m[kept])
        low = np.concatenate([[leaves], mark_s])[passed]
        high = np.concatenate([mark_s, [np.inf]])[passed]
        times = np.concatenate([[leaves], np.clip(reached[kept], low, high), mark_s])
        places = np.concatenate([[start], at_m[kept], mark_m])
        order = np.argsort(places, kind="stable")
        return float(start), times[order], places[order]
