"""The races behind a sheet: everybody timed every few metres, so that it is known who is near whom."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.sheet.sheet_marks import SheetMark
from simrun.measure.loss import places
from simrun.measure.passing import Passing, passing
from simrun.measure.squad.where_to_be import Narrow, last_free_place, lost_between, narrow_pieces
from simrun.measure.squad.with_whom import Company, company
from simrun.scenario.changes.changes_course import with_checkpoints
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.how_sure import Points, points_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

TIMED_EVERY_M = 25.0
MOST_TIMED = 120
FIRST_TIMED_M = 15.0
ARM = "as told"


def timed_day(day: Scenario, marks: Sequence[SheetMark]) -> Scenario:
    """The race day timed at the sheet's marks, at the ends of narrow pieces and every few metres between."""
    end_m = math.floor(100 * day.strip.length_m) / 100
    step = max(TIMED_EVERY_M, end_m / MOST_TIMED)
    wanted = [mark.at_m for mark in marks if mark.at_m > 0]
    wanted += [piece.to_m for piece in narrow_pieces(day.strip)]
    between = np.arange(FIRST_TIMED_M, end_m - step / 2, step)
    kept = sorted({min(round(at, 2), end_m) for at in wanted if at > 0})
    for at in between:
        if min(abs(at - other) for other in kept) > step / 3:
            kept.append(round(float(at), 2))
    return with_checkpoints(day, [(f"at {at:.2f}", at) for at in sorted(kept)])


def run_races(
    day: Scenario, marks: Sequence[SheetMark], seeds: tuple[int, ...], store: Path, **how: Any
) -> SheetRaces:
    """Every race of the sheet; those that the store holds are not run again. how: as of `carry_out`."""
    timed = timed_day(day, marks)
    plan = Plan({ARM: timed}, seeds)
    carry_out(plan, store, **how)
    outcomes = tuple(outcomes_of(plan, ARM, store))
    stations = np.array([mark.station_m for mark in timed.strip.checkpoints])
    return SheetRaces(stations, outcomes, points_of(timed, sorted(seeds)))


@dataclass(frozen=True)
class SheetRaces:
    """S races of N runners timed at C stations (C,); points of the inputs, one a race, where drawn."""

    station_m: Array
    races: tuple[Outcome, ...]
    points: Points | None

    def times_s(self, at_m: float, team: int) -> Array:
        """When do the runners of one team come to this place? (S, R)"""
        return np.stack([r.crossing_s[r.team_index == team, self._at(at_m)] for r in self.races])

    def everybody_s(self, at_m: float) -> list[Array]:
        """When does everybody come to this place, race by race? (N,) each."""
        return [race.crossing_s[:, self._at(at_m)] for race in self.races]

    def places(self, at_m: float, team: int) -> Array:
        """In which places? (S, R)"""
        return np.stack([self._places(race, at_m)[race.team_index == team] for race in self.races])

    def free_places(self, at_m: float, piece: Narrow) -> Array:
        """The last place at a mark that is not held up on the way through the piece, race by race. (S,)"""
        first, last = self._at(at_m), self._at(piece.to_m)
        return np.array(
            [
                last_free_place(
                    self._places(race, at_m),
                    lost_between(race.crossing_s, race.raced_s, first, last),
                )
                for race in self.races
            ]
        )

    def passing(self, from_m: float, to_m: float) -> Passing:
        """How was the ground between two places passed on? None is counted from the gun."""
        first, last = self._at(from_m), self._at(to_m)
        times = []
        for race in self.races:
            if from_m < self.station_m[0]:
                nothing = np.zeros(len(race.box))
                times.append((nothing, race.crossing_s[:, last], race.raced_s[:, last]))
                continue
            alone = race.raced_s[:, last] - race.raced_s[:, first]
            times.append((race.crossing_s[:, first], race.crossing_s[:, last], alone))
        return passing(times, to_m - from_m)

    def company(self, from_m: float, to_m: float, team: int) -> list[Company]:
        """Who is near every one of a team between two places, race by race?"""
        return [
            company(self.station_m, race.crossing_s, race.team_index == team, from_m, to_m)
            for race in self.races
        ]

    def _at(self, at_m: float) -> int:
        return int(np.abs(self.station_m - at_m).argmin())

    def _places(self, race: Outcome, at_m: float) -> Array:
        return places(race.crossing_s[:, [self._at(at_m)]])[:, 0]
