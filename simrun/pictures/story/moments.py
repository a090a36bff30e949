"""Where is everybody at any second, who is slowed, and whom does the camera follow?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.state.recording import Recording

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SLOWED_SHARE = 0.5
"""Slowed: running below this share of the speed wished for."""

START_GRACE_S = 3.0
"""Nobody counts as slowed sooner after their reaction unless they had got going before.

Assumed: two and a half times the start constant of 1.2 s, when a free runner is above 0.9.
"""


def slowed(recording: Recording) -> Mask:
    """Who runs below half of the wished speed, after having set off? (T, N)

    Set off = has once reached half of the wished speed, or START_GRACE_S after the reaction.
    """
    speed, half = recording.speed_m_s, SLOWED_SHARE * recording.wished_m_s
    got_going = np.logical_or.accumulate((speed >= half) & (half > 0), axis=0)
    had_time = recording.times_s[:, None] >= recording.roster.reaction_s + START_GRACE_S
    return (speed < half) & (got_going | had_time)


@dataclass(frozen=True)
class Moments:
    """The race at the seconds `t_s` (F,) that are drawn; positions between two records are linear."""

    recording: Recording
    t_s: Array

    @cached_property
    def _before(self) -> NDArray[np.int64]:
        found = np.searchsorted(self.recording.times_s, self.t_s + 1e-9, side="right") - 1
        return np.clip(found, 0, len(self.recording.times_s) - 1)

    @cached_property
    def position_m(self) -> Array:
        """Where is everybody? (F, N, 2), nan once a runner has left the course."""
        times, record = self.recording.times_s, self.recording.position_m.astype(float)
        after = np.minimum(self._before + 1, len(times) - 1)
        width = np.maximum(times[after] - times[self._before], 1e-12)
        share = np.clip((self.t_s - times[self._before]) / width, 0, 1)
        share = np.where(share < 1e-6, 0.0, share)[:, None, None]
        here, there = record[self._before], record[after]
        return np.where(share == 0, here, (1 - share) * here + share * there)

    @cached_property
    def slowed(self) -> Mask:
        """Who is slowed? (F, N)"""
        return slowed(self.recording)[self._before]


@dataclass(frozen=True)
class Followed:
    """Whom the camera follows: in words, and which runners. Nobody (all False) means the pack."""

    label: str
    who: Mask


def our_runners(recording: Recording) -> Mask:
    """Who runs for our team? (N,)"""
    ours = recording.scenario.our_team
    return recording.roster.team == ours if ours else np.zeros(len(recording.roster), dtype=bool)


def followed(recording: Recording, name: str | None) -> Followed:
    """Whom does the camera follow? A team or runner by name, else our team, else the pack.

    Raises BadInput with the nearest name where nobody is called so.
    """
    if name is None:
        ours = our_runners(recording)
        return Followed(recording.scenario.our_team or "", ours)
    roster = recording.roster
    who = np.asarray(roster.team == name)
    if not who.any():
        who = np.array([runner == name for runner in roster.name])
    if not who.any():
        raise BadInput(_nobody(name, (*roster.team_names, *roster.name)))
    return Followed(name, who)


def _nobody(name: str, names: tuple[str, ...]) -> Problem:
    near = nearest_word(name, names)
    return Problem("follow", f"no {name!r} in this race", "the name of a team or a runner", near)
