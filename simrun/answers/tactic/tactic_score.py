"""What is a plan worth? Seconds lost by our runners, and the team's points, carried to the finish.

A faster opening wins seconds over race pace that have nothing to do with the crowd, and they are paid
back later. Time lost is therefore always against the same runner *with the same opening* alone, so
seconds borrowed count as paid back one for one; `payback` other than 1 charges more or less.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.measure.scoring import SCORERS, team_scores
from simrun.runners.endurance import RACE_M
from simrun.runners.roster import Roster
from simrun.scenario.scenario import Scenario
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

KNEE_S = 0.5
"""Within so many seconds of the best an opening is as good: a place or two at a finish."""


@dataclass(frozen=True)
class Scored:
    """One arm's worth over S seeds to n runners of ours at C checkpoints.

    lost_s, traffic_s, crossing_s, place (S, n, C): in the field. finish_s, finish_place (S, n): carried to
    the finish of 5 km. points (S,): of the team there; nan where it has not five.
    """

    lost_s: Array
    traffic_s: Array
    crossing_s: Array
    place: Array
    finish_s: Array
    finish_place: Array
    points: Array

    @property
    def cost(self) -> Array:
        """What is to be as low as can be, seed by seed: team points, else the sum of our places. (S,)"""
        return self.finish_place.sum(axis=1) if np.isnan(self.points).any() else self.points

    @property
    def scorers_lost_s(self) -> Array:
        """Seconds lost at the last checkpoint, mean of the first five of ours to finish. (S,)"""
        order = np.argsort(self.finish_s, axis=1)[:, :SCORERS]
        return np.take_along_axis(self.lost_s[:, :, -1], order, axis=1).mean(axis=1)


def scored(
    scenario: Scenario,
    team: str,
    seeds: Iterable[int],
    outcomes: Iterable[Outcome],
    bases: Iterable[Outcome],
    payback: float = 1.0,
) -> Scored:
    """What did this arm bring the team? One outcome and one base a seed, in the order of the seeds.

    bases: the same seeds with everybody's alone-runs: the others are told the same in every arm, so
    their alone-times are those of the base.
    """
    found = [
        _one_race(scenario.roster(seed), team, outcome, base, payback)
        for seed, outcome, base in zip(seeds, outcomes, bases, strict=True)
    ]
    return Scored(*(np.stack(column) for column in zip(*found, strict=True)))


def _one_race(
    roster: Roster, team: str, outcome: Outcome, base: Outcome, payback: float
) -> tuple[Array, ...]:
    ours = np.flatnonzero(roster.team == team)
    best_s = base.best_s.copy()
    best_s[ours] = outcome.best_s[ours]
    lost = outcome.crossing_s - best_s
    finish = RACE_M / roster.cruise_m_s + lost[:, -1] + (payback - 1.0) * borrowed_s(roster)
    order = np.argsort(finish, kind="stable")
    home = order[~np.isnan(finish[order])]
    points = {
        score.team: score.points for score in team_scores([str(t) for t in roster.team[home]])
    }
    place = np.full(len(roster), np.nan)
    place[home] = np.arange(1.0, len(home) + 1)
    return (
        lost[ours],
        (outcome.crossing_s - outcome.raced_s)[ours],
        outcome.crossing_s[ours],
        outcome.place[ours],
        finish[ours],
        place[ours],
        np.array(points.get(team, np.nan), dtype=np.float64),
    )


def borrowed_s(roster: Roster) -> Array:
    """How many seconds does everybody's opening win over race pace, alone on level ground? (N,)

    With opening o for L metres, settling in a straight line over M more, at race pace v:
    (L o / (1 + o) + M (1 - ln(1 + o) / o)) / v. Check: tests/unit/answers/test_tactic.py.
    """
    o = np.maximum(roster.opening, 1e-12)
    settling = roster.settle_m * (1.0 - np.log1p(o) / o)
    seconds: Array = (roster.opening_m * o / (1.0 + o) + settling) / roster.cruise_m_s
    return seconds


def knee(openings: Mapping[float, float], within_s: float = KNEE_S) -> float:
    """Which is the least opening within so much of the best of them? {opening: seconds lost}"""
    known = {o: s for o, s in openings.items() if s == s} or {0.0: 0.0}
    best = min(known.values())
    return min(o for o, seconds in known.items() if seconds <= best + within_s)
