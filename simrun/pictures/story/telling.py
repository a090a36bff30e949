"""Which seconds of a race are drawn, what is told in them, and where the picture waits."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.view import AFTER_S, View
from simrun.pictures.story.captions import frame_at, told
from simrun.pictures.story.losing import Losing
from simrun.pictures.story.moments import Followed, Moments, followed
from simrun.pictures.story.pacing import behind_s, costliest, paced_s
from simrun.pictures.story.script import Beat, Script, joined, with_costliest
from simrun.state.recording import Recording

Array = NDArray[np.float64]

SHOWN_S = 60.0
"""So much is shown where nothing was lost."""

FEWEST_TOLD = 2
"""Where fewer named places are passed in what is shown, round distances are told too."""


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
    def losing(self) -> Losing:
        """Who loses what, moment by moment."""
        return Losing(self.recording)

    @cached_property
    def _losings(self) -> list[Losing]:
        return [self.losing, *([Losing(self.companion)] if self.companion else [])]

    @cached_property
    def followed(self) -> Followed:
        """Whom the camera follows."""
        return followed(self.recording, self.follow)

    @property
    def _theirs(self) -> NDArray[np.bool_]:
        """Whose seconds set the pace: of those followed, or of everybody."""
        who = self.followed.who
        return who if who.any() else np.ones_like(who)

    @cached_property
    def span_s(self) -> tuple[float, float]:
        """From which second to which? Without a wish: until what cost most is behind those followed."""
        recorded = min((race.times_s for race in self._races), key=lambda times: times[-1])
        begin = self.view.from_s if self.view.from_s is not None else float(recorded[0])
        ends = [self._usual_end_s(losing, begin) for losing in self._losings]
        return self.view.span_s(recorded, max(ends))

    def _usual_end_s(self, losing: Losing, begin_s: float) -> float:
        last = float(losing.account.times_s[-1])
        stretch = costliest(losing, self._theirs, (begin_s, last))
        if not stretch:
            return begin_s + SHOWN_S
        return behind_s(losing, self._theirs, stretch[1]) + AFTER_S

    @cached_property
    def beats(self) -> tuple[Beat, ...]:
        """What is told at named places, and at round distances where few are named."""
        named = self._told("named")
        shown = [beat for beat in named if self.span_s[0] < beat.t_s <= self.span_s[1]]
        return named if len(shown) >= FEWEST_TOLD else self._told("every")

    @cached_property
    def spare_beats(self) -> tuple[Beat, ...]:
        """What can be told besides, at round distances."""
        return self._told("rounds")

    def _told(self, kind: str) -> tuple[Beat, ...]:
        """The beats of one kind; where there is a companion those that both races have."""
        scripts = [
            Script(losing, followed(losing.recording, self.follow), self.span_s, self.units)
            for losing in self._losings
        ]
        found = [script.beats(kind) for script in scripts]
        if self.companion:
            return joined(found[0], found[1])[0]
        return found[0] if kind == "rounds" else with_costliest(found[0], scripts[0].costliest())

    @property
    def _races(self) -> list[Recording]:
        return [self.recording, *([self.companion] if self.companion else [])]

    @cached_property
    def t_s(self) -> Array:
        """The seconds that are drawn, (F,); of two races as long as both last."""
        recorded = min((race.times_s for race in self._races), key=lambda times: times[-1])
        if self.view.speed is not None:
            return self.view.moments_s(recorded, self.span_s[1])
        film = self.view.length_s, self.view.frames_per_s
        return paced_s(self._losings, self._theirs, self.span_s, *film)

    @cached_property
    def pauses(self) -> frozenset[int]:
        """The frames at which the picture waits; at the last one too, on what it cost."""
        waits = [beat.t_s for beat in told(self.beats, self.t_s) if beat.decides]
        return frozenset(frame_at(self.t_s, t) for t in waits if self.view.pauses)

    @cached_property
    def other_m(self) -> Array:
        """Where those followed are in the other race, (F, M, 2); M = 0 without one."""
        if not self.companion:
            return np.zeros((len(self.t_s), 0, 2))
        who = followed(self.companion, self.follow).who
        return Moments(self.companion, self.t_s).position_m[:, who]
