"""Who is losing time at every moment, how fast, and when did a whole second go? Read from the account."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.state.recording import Recording

if TYPE_CHECKING:
    from simrun.state.account import Account

Array = NDArray[np.float64]
Levels = NDArray[np.int8]
Mask = NDArray[np.bool_]

WINDOW_S = 1.0
"""The rate of losing is taken over so long, half of it before the moment and half after it."""

LOSES_S_S = (0.02, 0.1, 0.3)
"""Seconds lost a second from which a runner is marked as losing: a little, much, very much. Below the first
nobody is marked: half a metre a second is not seen, and whole centimetres of a frame are a tenth of it."""

PARTS = ("box", "line", "traffic", "racing")

AHEAD_M, ASIDE_M = 3.0, 0.7
"""Close ahead: no further than this along the course and across it (assumed: a stride, and a body's width
with the room it needs)."""


@dataclass(frozen=True)
class Losing:
    """The account of one race, ready to be shown. Check: tests/validation/test_losing_is_marked.py."""

    recording: Recording

    @cached_property
    def account(self) -> Account:
        """The account at every recorded moment; nothing known where the file holds no runs alone."""
        from simrun.state.account import Account, lost_so_far

        if len(self.recording.tracks):
            return lost_so_far(self.recording)
        times, nothing = self.recording.times_s, np.full(self.recording.speed_cm_s.shape, np.nan)
        return Account(times, nothing, nothing, nothing, nothing, nothing)

    def lost_s(self, t_s: Array) -> Array:
        """Seconds lost by everybody up to these moments (F,): (F, N)."""
        return self._at(self._lost_s, t_s)

    def parts_s(self, t_s: Array) -> Array:
        """The same in its parts, as of PARTS: (4, F, N)."""
        account = self.account
        parts = (account.box_s, account.line_s, account.traffic_s, account.racing_s)
        return np.stack([self._at(part, t_s) for part in parts])

    def place_m(self, t_s: Array) -> Array:
        """How far everybody had come along the measured line: (F, N)."""
        return self._at(self.account.place_m, t_s)

    def rate_s_s(self, t_s: Array) -> Array:
        """Seconds lost a second at these moments (F,): (F, N), over WINDOW_S; 0 where nobody can tell.

        Formula: (lost(t + w / 2) - lost(t - w / 2)) / w.
        """
        half = WINDOW_S / 2
        return np.nan_to_num((self.lost_s(t_s + half) - self.lost_s(t_s - half)) / WINDOW_S)

    def levels(self, t_s: Array) -> Levels:
        """How is everybody marked? 0 not at all, 1 to 3 as of LOSES_S_S: (F, N)."""
        found = np.searchsorted(LOSES_S_S, self.rate_s_s(t_s), side="right").astype(np.int8)
        found[t_s <= self.account.times_s[0]] = 0  # at the gun nobody has lost anything
        return found

    @cached_property
    def gone(self) -> tuple[Array, NDArray[np.int64]]:
        """At which moments did a whole second go, and whose? Two columns (G,), in order of time.

        The first time that somebody has lost one second, two, three: what is regained and lost again counts
        once.
        """
        most = np.maximum.accumulate(np.nan_to_num(self._lost_s), axis=0)
        whole = np.floor(np.maximum(most, 0.0) + 1e-9)
        moment, runner = np.nonzero(np.diff(whole, axis=0) > 0)
        return self.account.times_s[moment + 1], runner

    def close_ahead(self, t_s: float, runner: int) -> int:
        """How many run close ahead of this runner, in the way (AHEAD_M, ASIDE_M)?"""
        frame = int(np.searchsorted(self.recording.times_s, t_s + 1e-9, side="right")) - 1
        frame = min(max(frame, 1), len(self.recording.times_s) - 1)
        here, before = self.recording.position_m[[frame, max(0, frame - 5)]].astype(float)
        way = here[runner] - before[runner]
        length = float(np.hypot(*way))
        if not length > 0.05:
            way, length = _along(self.recording, self.place_m(np.array([t_s]))[0, runner])
        to = here - here[runner]
        ahead, aside = to @ way / length, np.abs(to @ np.array([-way[1], way[0]])) / length
        return int(((ahead > 0.05) & (ahead <= AHEAD_M) & (aside <= ASIDE_M)).sum())

    @cached_property
    def _lost_s(self) -> Array:
        return self.account.lost_s

    def _at(self, values: Array, t_s: Array) -> Array:
        """A record (T, N) at moments (F,), linear between two frames, held at the ends: (F, N)."""
        times = self.account.times_s
        t_s = np.clip(t_s, times[0], times[-1])
        before = np.clip(np.searchsorted(times, t_s, side="right") - 1, 0, max(0, len(times) - 2))
        after = np.minimum(before + 1, len(times) - 1)
        width = np.maximum(times[after] - times[before], 1e-12)
        share = ((t_s - times[before]) / width)[:, None]
        return (1 - share) * values[before] + share * values[after]


def _along(recording: Recording, station_m: float) -> tuple[Array, float]:
    """The way the course takes at a place, and its length."""
    here, ahead = (np.array(recording.strip.point_at(station_m + d)) for d in (0.0, 1.0))
    return ahead - here, max(float(np.hypot(*(ahead - here))), 1e-9)
