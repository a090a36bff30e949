"""Who is in the race? One row a runner."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.runners.endurance import RACE_M, critical_speed_m_s

Array = NDArray[np.float64]

CANNOT = 0.005
"""Who misses the told split by more than this share cannot do it."""

UNTOLD: Array = np.zeros(0)
"""Stands for a column that nobody told."""


def _untold() -> Array:
    return UNTOLD


RACING = (
    *("opens_more", "told_s", "late_s", "pace_share", "level_m", "drawn", "in_hand_m"),
    *("first_place", "last_place", "seek_m"),
)
"""The columns that a race day with racing adds."""


ENDS = ("entry_m", "exit_m")
"""The columns of who takes a turn's entry or exit by another line than its apex."""


def racing_columns(count: int) -> dict[str, Array]:
    """The same columns of so many who run their own plan and no race."""
    ones = np.ones(count)
    plain = {"pace_share": ones, "level_m": RACE_M * ones}
    plain |= {"first_place": ones, "last_place": count * ones}
    return {name: plain.get(name, 0.0 * ones) for name in RACING}


@dataclass(frozen=True)
class Roster:
    """N runners in the order of the entry list.

    name, team: text (N,). team_index (N,) into team_names. box (N,) numbered from 1, left to right
    facing the course; row (N,) numbered from 1; file (N,) position within the row, 0 = leftmost.
    radius_m (N,): half the body width. cruise_m_s (N,): race pace on level ground. opening (N,):
    share by which the first metres are faster than race pace (0.10 = 10 %); opening_m, settle_m
    (N,): for how long, and over how many metres it settles to race pace. sit_m, move_m, kick_m (N,):
    where those stages of the plan begin, infinite where the plan has none. reserve_m (N,): metres that
    can be run above the critical speed. reaction_s (N,).
    choice (N, G): "inside", "middle", "outside" at every gate of the course ("own" at a throat).
    inside_m (N, G): own offset from the inside edge at a turn; at a throat off its left edge, where a side
    was told, else 0. entry_m, exit_m (N, G): the same where a turn begins and ends, 0 where that goes by
    the apex. keeps (N, C): 1 at every checkpoint up to which their own place across was to be kept, else 0;
    (N, 0) where nobody was told. throat_share (N,): own place across
    a throat from -1 (left edge) to 1 (right edge). pull (N,): 0 keeps that place, 1 takes the
    shortest way. edge_share (N,): own place in the band that is kept off an inside edge where the course
    bends and nobody has named a turn, 0 to 1. look_phase (N,): where in every look-up interval the runner
    looks up, 0 to 1. wander (N, M): factor on the wished speed, one a `WANDER_STEP_M` of course.

    What follows is that of a runner who only runs the plan unless told: opens_more (N,): what is added to
    `opening` as the wish, so that it comes out as a split; late_s (N,): by how much it does not (what a body
    cannot do); told_s (N,): what was told, gun to the mark (0: nothing). pace_share (N,): pace once settled
    over race pace. level_m (N,): level metres of the race behind the seed time. drawn (N,): how much the
    front's pace draws. in_hand_m (N,): metres of the reserve that the plan leaves at the finish. first_place,
    last_place (N,): the places wanted from seek_m (N,) on.
    """

    name: tuple[str, ...]
    team_names: tuple[str, ...]
    team_index: NDArray[np.int64]
    box: NDArray[np.int64]
    row: NDArray[np.int64]
    file: NDArray[np.int64]
    radius_m: Array
    cruise_m_s: Array
    opening: Array
    opening_m: Array
    settle_m: Array
    sit_m: Array
    move_m: Array
    kick_m: Array
    reserve_m: Array
    reaction_s: Array
    choice: NDArray[np.str_]
    inside_m: Array
    throat_share: Array
    pull: Array
    edge_share: Array
    look_phase: Array
    wander: Array
    opens_more: Array = field(default_factory=_untold)
    told_s: Array = field(default_factory=_untold)
    late_s: Array = field(default_factory=_untold)
    pace_share: Array = field(default_factory=_untold)
    level_m: Array = field(default_factory=_untold)
    drawn: Array = field(default_factory=_untold)
    in_hand_m: Array = field(default_factory=_untold)
    first_place: Array = field(default_factory=_untold)
    last_place: Array = field(default_factory=_untold)
    seek_m: Array = field(default_factory=_untold)
    entry_m: Array = field(default_factory=_untold)
    exit_m: Array = field(default_factory=_untold)
    keeps: Array = field(default_factory=_untold)

    def __post_init__(self) -> None:
        """What was not told is that of somebody who runs their own plan and no race."""
        for name, plain in racing_columns(len(self.cruise_m_s)).items():
            if getattr(self, name) is UNTOLD:
                object.__setattr__(self, name, plain)
        for name in ENDS:
            if getattr(self, name) is UNTOLD:
                object.__setattr__(self, name, np.zeros_like(self.inside_m))
        if self.keeps is UNTOLD:
            object.__setattr__(self, "keeps", np.zeros((len(self.cruise_m_s), 0)))

    def __repr__(self) -> str:
        """How many runners of how many teams."""
        return f"<Roster: {len(self)} runners of {len(self.team_names)} teams>"

    def __len__(self) -> int:
        return len(self.name)

    @property
    def team(self) -> NDArray[np.str_]:
        """The team's name of every runner, (N,)."""
        return np.array(self.team_names, dtype=np.str_)[self.team_index]

    @property
    def critical_m_s(self) -> Array:
        """The speed that can be held without drawing on the reserve, (N,)."""
        return critical_speed_m_s(self.cruise_m_s, self.reserve_m, self.level_m)

    @property
    def cannot_open(self) -> NDArray[np.bool_]:
        """Whose body cannot open as told, (N,): alone the split is missed by more than CANNOT of it."""
        return np.asarray(np.abs(self.late_s) > CANNOT * self.told_s)

    @property
    def line(self) -> NDArray[np.str_]:
        """The line in one word a runner, (N,): the choice at the first turn, where the crowd is."""
        turns = (self.choice != "own").all(axis=0)
        first = self.choice[:, turns.argmax()] if turns.any() else None
        return np.full(len(self), "shortest") if first is None else first

    def one_runner_as_many(self, count: int) -> Roster:
        """`count` copies of an even-paced runner of this field's median, reacting at once."""
        ones, noughts, never = np.ones(count), np.zeros(count), np.full(count, np.inf)
        gates = self.choice.shape[1]
        return Roster(
            name=tuple(f"copy {i + 1}" for i in range(count)),
            team_names=("copies",),
            team_index=np.zeros(count, dtype=np.int64),
            box=np.arange(1, count + 1),
            row=np.ones(count, dtype=np.int64),
            file=np.zeros(count, dtype=np.int64),
            radius_m=ones * float(np.median(self.radius_m)),
            cruise_m_s=ones * float(np.median(self.cruise_m_s)),
            opening=noughts,
            opening_m=noughts,
            settle_m=noughts,
            sit_m=never,
            move_m=never,
            kick_m=never,
            reserve_m=ones * float(np.median(self.reserve_m)),
            reaction_s=noughts,
            choice=np.full((count, gates), "own"),
            inside_m=np.zeros((count, gates)),
            throat_share=noughts,
            pull=ones,
            edge_share=noughts,
            look_phase=noughts,
            wander=np.ones((count, 1)),
        )
