"""The records of a sheet: who stands where, the marks, where to be, who is near, who sees them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simrun.answers.sheet.sheet_marks import SheetMark
from simrun.measure.passing import Passing
from simrun.measure.squad.where_to_be import Narrow
from simrun.scenario.scenario import Scenario


@dataclass(frozen=True)
class Band:
    """A figure over the races: the middle one, and what eight of ten brought; by chance alone too."""

    middle: float
    low: float
    high: float
    chance_low: float = np.nan
    chance_high: float = np.nan


@dataclass(frozen=True)
class Who:
    """One of ours on the line. short: as everybody calls them. row from 1, file from 0, of in_row abreast."""

    name: str
    short: str
    row: int
    file: int
    in_row: int


@dataclass(frozen=True)
class Stand:
    """Where the team stands: its box, None until it is drawn, and the teams beside it where they are known.

    ahead: the first narrow piece or turn; ahead_m, aside_m: how far it is, and how far to the left of
    straight ahead (to the right: a minus).
    """

    team: str
    who: tuple[Who, ...]
    box: int | None
    left: str
    right: str
    ahead: str
    ahead_m: float
    aside_m: float


@dataclass(frozen=True)
class Told:
    """One mark with what the races say about it. time_s, place: a band for each of ours.

    free_place: the last place that is not held up on the piece ahead; None where it cannot be told.
    passing: of the ground from here to the next mark; lines: what the plan says for the turns up to there.
    """

    mark: SheetMark
    time_s: tuple[Band, ...]
    place: tuple[Band, ...]
    passing: Passing | None
    lines: tuple[tuple[str, str, tuple[int, ...]], ...] = ()
    free_place: Band | None = None

    @property
    def piece(self) -> Narrow | None:
        """The narrow piece ahead, where a place to be is told."""
        return self.mark.narrow if self.free_place else None


@dataclass(frozen=True)
class Near:
    """Who is near one of ours on one stretch, over the races.

    mate: number of the one of ours who is nearest most often, None without any; mate_m: how far, and
    mate_ahead_m: how far ahead, a minus behind. mate_races: in how many races. rivals: how many are near.
    rival_names: who of them is so in at least half of the races, where the others have names.
    alone_races: in how many nobody at all is. look_for: who runs next ahead then, empty where nobody can be
    named; look_m: how far ahead the next one is.
    """

    runner: int
    mate: int | None
    mate_m: Band
    mate_ahead_m: float
    mate_races: int
    rivals: Band
    rival_names: tuple[str, ...]
    alone_races: int
    look_for: str
    look_m: Band


@dataclass(frozen=True)
class Stretch:
    """From one mark of the sheet to another, and who is near every one of ours."""

    first: SheetMark
    last: SheetMark
    near: tuple[Near, ...]


@dataclass(frozen=True)
class Seen:
    """Two marks at which one person sees the team: the way between on foot, and when they come by."""

    first: SheetMark
    second: SheetMark
    walk_m: float
    first_from_s: float
    first_to_s: float
    second_from_s: float
    second_to_s: float


@dataclass(frozen=True)
class SheetFigures:
    """Everything that a sheet tells, of one team and S races, in these units.

    named: has the scenario names for all of them?
    """

    day: Scenario
    stand: Stand
    marks: tuple[Told, ...]
    stretches: tuple[Stretch, ...]
    seen: tuple[Seen, ...]
    races: int
    units: str
    named: bool = True
