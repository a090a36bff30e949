"""What is a plan worth? Our runners' times at the finish and the team's points there, over many races.

Everybody races for places: what a hard opening costs is paid in the race itself, out of the reserve and the
pace after it. So a time at the finish needs nothing carried on, and no assumed price of a borrowed second.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.measure.scoring import SCORERS, scores_at
from simrun.scenario.scenario import Scenario
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

KNEE_S = 0.5
"""Within so many seconds of the best an opening is as good: a place or two at a finish."""


@dataclass(frozen=True)
class Scored:
    """One arm's worth over S seeds to n runners of ours at C checkpoints, the last of them the finish.

    crossing_s, traffic_s, place (S, n, C): in the field. points (S,): of the team at the finish; nan where it
    has not five.
    """

    crossing_s: Array
    traffic_s: Array
    place: Array
    points: Array

    @property
    def finish_s(self) -> Array:
        """Everybody's time at the finish, nan for who is not there. (S, n)"""
        return self.crossing_s[:, :, -1]

    @property
    def cost(self) -> Array:
        """How a coach counts, seed by seed: team points, else the sum of our places. (S,)"""
        return self.place[:, :, -1].sum(axis=1) if np.isnan(self.points).any() else self.points

    @property
    def scorers_s(self) -> Array:
        """Mean time of our first five at the finish; nan where fewer are there. (S,)"""
        first = np.sort(self.finish_s, axis=1)[:, :SCORERS]
        return np.asarray(first.mean(axis=1))

    def of(self, which: NDArray[np.bool_]) -> Scored:
        """The same of some of the seeds."""
        parts = (self.crossing_s, self.traffic_s, self.place, self.points)
        return Scored(*(part[which] for part in parts))


def scored(scenario: Scenario, team: str, outcomes: Sequence[Outcome]) -> Scored:
    """What did this arm bring the team? One outcome a seed. Check: tests/unit/answers/test_tactic.py."""
    names = [one.name for one in scenario.teams]
    found = [_one_race(names, team, outcome) for outcome in outcomes]
    return Scored(*(np.stack(column) for column in zip(*found, strict=True)))


def _one_race(names: Sequence[str], team: str, outcome: Outcome) -> tuple[Array, ...]:
    ours = outcome.team_index == names.index(team)
    at_finish = scores_at(outcome.crossing_s[:, -1], [names[i] for i in outcome.team_index])
    points = next((float(s.points) for s in at_finish if s.team == team), np.nan)
    return (
        outcome.crossing_s[ours],
        (outcome.crossing_s - outcome.raced_s)[ours],
        outcome.place[ours],
        np.array(points),
    )


def knee(openings: Mapping[float, float], within_s: float = KNEE_S) -> float:
    """Which is the least opening within so much of the best of them? {opening: seconds at the finish}"""
    known = {o: s for o, s in openings.items() if s == s} or {0.0: 0.0}
    best = min(known.values())
    return min(o for o, seconds in known.items() if seconds <= best + within_s)
