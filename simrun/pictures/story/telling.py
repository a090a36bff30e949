"""Which seconds of a race are drawn, what is told in them, and where the picture waits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.view import LONGER_S, SHOWN_S, View
from simrun.pictures.story.captions import frame_at
from simrun.pictures.story.moments import Moments, followed
from simrun.pictures.story.script import Beat, beats, distance_beats, joined
from simrun.state.recording import Recording

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Telling:
    """The script of one race; with a companion the script that both races share.

    Raises BadInput for a name that nobody has and for a view that cannot be shown.
    """

    recording: Recording
    view: View
    follow: str | None = None
    companion: Recording | None = None

    @property
    def units(self) -> str:
        """metric or us"""
        return self.view.units or self.recording.scenario.units

    @cached_property
    def beats(self) -> tuple[Beat, ...]:
        """What is told at named places."""
        return self._told(beats)

    @cached_property
    def spare_beats(self) -> tuple[Beat, ...]:
        """What can be told besides, at round distances."""
        return self._told(distance_beats)

    def _told(self, of: Callable[..., tuple[Beat, ...]]) -> tuple[Beat, ...]:
        """The beats of one kind; where there is a companion those that both races have."""
        until = (self.view.from_s or 0.0) + SHOWN_S + LONGER_S
        until = until if self.view.to_s is None else self.view.to_s
        told = [of(race, followed(race, self.follow), until, self.units) for race in self._races]
        return joined(told[0], told[1])[0] if self.companion else told[0]

    @property
    def _races(self) -> list[Recording]:
        return [self.recording, *([self.companion] if self.companion else [])]

    @cached_property
    def t_s(self) -> Array:
        """The seconds that are drawn, (F,); of two races as long as both last."""
        recorded = min((race.times_s for race in self._races), key=lambda times: times[-1])
        return self.view.moments_s(recorded, self._deciding_s)

    @property
    def _deciding_s(self) -> list[float]:
        return [beat.t_s for beat in self.beats if beat.decides]

    @cached_property
    def pauses(self) -> frozenset[int]:
        """The frames at which the picture waits."""
        first, last = self.t_s[0], self.t_s[-1]
        waits = [t for t in self._deciding_s if self.view.pauses and first <= t <= last]
        return frozenset(frame_at(self.t_s, t) for t in waits)

    @cached_property
    def ghost_m(self) -> Array:
        """Where those followed are in the other race, (F, M, 2); M = 0 without one."""
        if not self.companion:
            return np.zeros((len(self.t_s), 0, 2))
        who = followed(self.companion, self.follow).who
        return Moments(self.companion, self.t_s).position_m[:, who]
