"""The races behind a course card: times at every stretch's ends, and what they say about passing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.measure.passing import Passing, passing
from simrun.measure.stretches import Stretch
from simrun.scenario.changes.changes_course import with_checkpoints
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema import MOST_MARKS
from simrun.trials.carry_out import carry_out
from simrun.trials.how_sure import Points, points_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.store import Store

Array = NDArray[np.float64]

COLOURED_M = 100.0
"""The colour on the map may change so often."""


def timed_at(scenario: Scenario, stations: list[float]) -> Scenario:
    """The same race day with a checkpoint at each of these metres (those of a drawing stay)."""
    return with_checkpoints(scenario, [(f"at {at:.2f}", round(at, 2)) for at in stations])


def stations_of(found: tuple[Stretch, ...]) -> list[float]:
    """Where the stretches end, and so many places between that the map can be coloured."""
    step = max(COLOURED_M, found[-1].to_m / (MOST_MARKS - len(found) - 1))
    ends = []
    for stretch in found:
        count = max(1, round(stretch.length_m / step))
        ends += np.linspace(stretch.from_m, stretch.to_m, count + 1)[1:].tolist()
    return ends[:MOST_MARKS]


def run_races(
    scenario: Scenario, stations: list[float], seeds: tuple[int, ...], **how: Any
) -> Timed:
    """Run the scenario with every seed, timed at these stations; `how` as of carry_out, with `store`."""
    day = timed_at(scenario, stations)
    plan = Plan({"card": day}, seeds)
    store: Path = how.pop("store")
    carry_out(plan, store, **how)
    with Store(store) as kept:
        races = {s: o for s, o in kept.outcomes(plan.digests["card"]) if s in set(seeds)}
    stations_m = np.array([mark.station_m for mark in day.strip.checkpoints])
    return Timed(stations_m, list(races.values()), points_of(day, list(races)))


class Timed:
    """Races with times at many stations; points of the inputs, one a race, where they were drawn."""

    def __init__(
        self, station_m: Array, races: list[Outcome], points: Points | None = None
    ) -> None:
        self.station_m, self.races, self.points = station_m, races, points

    def passing(self, from_m: float, to_m: float) -> Passing:
        """How was this stretch passed on? Its ends are stations, or the gun."""
        return passing([self._times(race, from_m, to_m) for race in self.races], to_m - from_m)

    def _times(self, race: Outcome, from_m: float, to_m: float) -> tuple[Array, Array, Array]:
        to = int(np.abs(self.station_m - to_m).argmin())
        if from_m < self.station_m[0] / 2:
            nothing = np.zeros(len(race.box))
            return nothing, race.crossing_s[:, to], race.raced_s[:, to]
        at = int(np.abs(self.station_m - from_m).argmin())
        alone = race.raced_s[:, to] - race.raced_s[:, at]
        return race.crossing_s[:, at], race.crossing_s[:, to], alone
