"""The races of one layout side by side: what everybody lost, in which place, and the crowd."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.measure.crowd import PLACE_NAMES, CrowdFigures
from simrun.measure.finish import reaches_finish
from simrun.measure.loss import places
from simrun.measure.places import CoursePlace, course_places
from simrun.measure.scoring import points_lost
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Points
from simrun.trials.races import Outcome

Array = NDArray[np.float64]


@dataclass(frozen=True)
class LayoutSample:
    """The races of one layout: S seeds, N runners, C checkpoints.

    box (S, N). lost_s, place (S, N, C): against the same runner alone from the best box; the place by the
    time since their own wave's gun. nan for those who did not arrive. crowd: of every race. points (S,): of
    the inputs, where they were drawn. points_lost (S, N): of everybody's team against the order of ability,
    where the races go to the finish.
    """

    day: Scenario
    box: NDArray[np.int64]
    lost_s: Array
    place: Array
    crowd: tuple[CrowdFigures, ...]
    points: Points | None = None
    points_lost: Array | None = None

    @property
    def checkpoints(self) -> tuple[str, ...]:
        """Their names, in order."""
        return tuple(mark.name for mark in self.day.strip.checkpoints)

    def at(self, checkpoint: str) -> int:
        """The number of a checkpoint by its name."""
        return self.checkpoints.index(checkpoint)

    def crowd_of(self, name: str) -> Array:
        """One figure of the crowd, race by race, (S,)."""
        return np.array([getattr(race, name) for race in self.crowd])

    def crowd_at(self, name: str) -> Array:
        """One figure of PLACE_NAMES, race by race and place by place, (S, P)."""
        return np.array([race.by_place[:, PLACE_NAMES.index(name)] for race in self.crowd])

    @property
    def places(self) -> tuple[CoursePlace, ...]:
        """The places of the course, up to where the study ends."""
        return course_places(self.day.strip)

    def by_box(self, values: Array) -> Array:
        """Means of the boxes, race by race: (S, N) to (S, B), nan for an empty box."""
        boxes = np.unique(self.box)
        here = (self.box[:, :, None] == boxes) & ~np.isnan(values)[:, :, None]
        total = np.where(here, values[:, :, None], 0.0).sum(axis=1)
        count = here.sum(axis=1)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def sample_of(
    day: Scenario, outcomes: list[Outcome], points: Points | None = None, seeds: Sequence[int] = ()
) -> LayoutSample:
    """What the outcomes of one layout hold, side by side; points of the inputs and seeds, one a race."""
    seeds = seeds or range(1, 1 + len(outcomes))
    waits = [_waits_s(day, o, seed) for o, seed in zip(outcomes, seeds, strict=True)]
    pairs = list(zip(outcomes, waits, strict=True))
    return LayoutSample(
        day,
        np.stack([o.box for o in outcomes]).astype(np.int64),
        np.stack([o.crossing_s - o.best_s for o in outcomes]),
        np.stack([places(o.crossing_s - wait[:, None]) for o, wait in pairs]),
        tuple(o.crowd for o in outcomes if o.crowd),
        points,
        _points_lost(day, outcomes),
    )


def _waits_s(day: Scenario, outcome: Outcome, seed: int) -> Array:
    """How long after the first gun everybody's own wave went: the seed times decide, where they do."""
    if day.start.waves_by == "box":
        return day.start.wave_wait_s(outcome.box)
    roster = day.roster(seed)
    return day.wave_wait_s(roster.box, roster.team_index, roster.cruise_m_s)


def _points_lost(day: Scenario, outcomes: list[Outcome]) -> Array | None:
    if not reaches_finish(day.strip):
        return None
    return np.stack(
        [
            points_lost(o.team_index, o.crossing_s[:, -1], o.clear_place[:, -1])[o.team_index]
            for o in outcomes
        ]
    )


def mean_of(sample: LayoutSample, name: str) -> float:
    """The mean of one crowd figure over the races, nan where no race had it."""
    return known_mean(sample.crowd_of(name))


def known_mean(values: Array) -> float:
    """The mean of what is known, nan where nothing is."""
    return float(np.nanmean(values)) if not np.isnan(values).all() else float("nan")


def race_means(values: Array) -> Array:
    """Means of the runners who arrived, race by race; nan where nobody did."""
    arrived = ~np.isnan(values)
    total = np.where(arrived, values, 0.0).sum(axis=1)
    return np.where(arrived.any(axis=1), total / np.maximum(arrived.sum(axis=1), 1), np.nan)
