"""Where is everybody at any second, and whom does the camera follow?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.pictures.map.terrain import BOX_DEPTH_M
from simrun.runners.roster import Roster
from simrun.state.recording import Recording

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


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
        return self.between(self.recording.position_m.astype(float))

    def between(self, record: Array) -> Array:
        """A record of every frame, (T, N) or (T, N, 2), at the drawn moments."""
        times = self.recording.times_s
        after = np.minimum(self._before + 1, len(times) - 1)
        width = np.maximum(times[after] - times[self._before], 1e-12)
        share = np.clip((self.t_s - times[self._before]) / width, 0, 1)
        share = np.where(share < 1e-6, 0.0, share).reshape(-1, *[1] * (record.ndim - 1))
        here, there = record[self._before], record[after]
        return np.where(share == 0, here, (1 - share) * here + share * there)


@dataclass(frozen=True)
class Followed:
    """Whom the camera follows: in words, and which runners. Nobody (all False) means the pack."""

    label: str
    who: Mask


def our_runners(recording: Recording) -> Mask:
    """Who runs for our team? (N,)"""
    return _of_team(recording.roster, recording.scenario.our_team)


def followed(recording: Recording, name: str | None) -> Followed:
    """Whom does the camera follow in this race? Raises BadInput as `whom` does."""
    return whom(recording.roster, recording.scenario.our_team, name)


def whom(roster: Roster, ours: str | None, name: str | None) -> Followed:
    """Whom does the camera follow? A team or runner by name, else our team, else the pack.

    Needs no race, only who will run it. Raises BadInput with the nearest name where nobody is called so.
    """
    if name is None:
        return Followed(ours or "", _of_team(roster, ours))
    who = _of_team(roster, name)
    if not who.any():
        who = np.array([runner == name for runner in roster.name])
    if not who.any():
        raise BadInput(_nobody(name, (*roster.team_names, *roster.name)))
    return Followed(name, who)


def _of_team(roster: Roster, name: str | None) -> Mask:
    return np.asarray(roster.team == name) if name else np.zeros(len(roster), dtype=bool)


def _nobody(name: str, names: tuple[str, ...]) -> Problem:
    near = nearest_word(name, names)
    return Problem("follow", f"no {name!r} in this race", "the name of a team or a runner", near)


def box_depth_m(recording: Recording) -> float:
    """How far behind the line, or the arc, do the boxes reach? Behind the last row at the gun."""
    place = recording.position_m[0].astype(float)
    place = place[np.isfinite(place).all(axis=1)]
    if not len(place):
        return BOX_DEPTH_M
    line = recording.scenario.start_line.line_m
    away = np.hypot(*(place[:, None, :] - line[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    return float(np.clip(away.max() + 1.2, BOX_DEPTH_M, 15.0))
