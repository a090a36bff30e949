"""What does a throat cost? Closed forms of the deterministic queue, and the same in the simulation."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simrun.answers.evidence.experiments.arena import (
    Array,
    Crowd,
    block_m,
    crowd_race,
    gap,
    ground,
    side_by_side,
    straight,
)
from simrun.answers.evidence.experiments.flow import steady_flow_per_s
from simrun.engine.field import stand_m
from simrun.engine.run import Race, field_of
from simrun.runners.roster import Roster
from simrun.scenario.assemble import assemble
from simrun.scenario.scenario import Scenario
from simrun.tactics.margins import own_margins


def queue_delay_s(arrival_s: Array, capacity_per_s: float) -> Array:
    """How long does everybody wait at a throat that lets so many through a second? (N,)

    First come, first served: out = max(in, the one before out + 1/C). Source: deterministic queue,
    for example Newell 1982. Check: tests/theory/test_queue.py.
    """
    order = np.argsort(arrival_s, kind="stable")
    ranks = np.arange(len(arrival_s)) / capacity_per_s
    out = np.maximum.accumulate(arrival_s[order] - ranks) + ranks
    delay = np.empty(len(arrival_s))
    delay[order] = out - arrival_s[order]
    return delay


def line_arrivals_s(count: int, line_m: float, straight_m: float, speed_m_s: float) -> Array:
    """When would runners spread evenly over a line reach a throat on its centre line, unhindered? (N,)

    Evenly from one end of the line to the other, and straight to the throat.
    """
    aside = np.linspace(-line_m / 2, line_m / 2, count)
    return np.asarray(np.hypot(aside, straight_m) / speed_m_s)


def free_straight_m(
    count: int, speed_m_s: float, spread_m_s: float, capacity_per_s: float
) -> float:
    """Beyond which straight do speeds N(v, sigma) arrive so spread out that no queue forms?

    L* = N v^2 / (C sigma sqrt(2 pi)): there the peak of the arrivals is C.
    """
    return count * speed_m_s**2 / (capacity_per_s * spread_m_s * np.sqrt(2 * np.pi))


def through_s(people: int, width_m: float, specific_flow_per_s_m: float) -> float:
    """How long do so many take through an opening of this width? N / (F w)"""
    return people / (specific_flow_per_s_m * width_m)


@dataclass(frozen=True)
class InstantArrival:
    """A crowd pressed against a throat, seed by seed: seconds lost by rank, and the capacity.

    loss_s (S, N): crossing time after that of the first; capacity_per_s (S,): of the same run, between
    20 and 80 % through.
    """

    loss_s: Array
    capacity_per_s: Array

    @property
    def law_s(self) -> Array:
        """(n - 1) / C for every rank, (S, N)."""
        return np.arange(self.loss_s.shape[1]) / self.capacity_per_s[:, None]

    @property
    def mean_ratio(self) -> Array:
        """Mean loss over (N - 1) / 2C, (S,)."""
        return self.loss_s.mean(axis=1) / self.law_s.mean(axis=1)

    @property
    def straightness(self) -> Array:
        """R2 of a straight line through loss against rank, (S,)."""
        pairs = zip(self.loss_s, self.law_s, strict=True)
        return np.array([np.corrcoef(loss, law)[0, 1] ** 2 for loss, law in pairs])


def instant_arrival(crowd: Crowd, seeds: Sequence[int]) -> InstantArrival:
    """Does the runner of rank n lose (n - 1) / C when all come at once? C is taken from the same run.

    So the check is of the law's form: a straight line from the first rank to the last. 600 people, an
    opening of 6 m: who stands in the opening already does not queue, a dozen of them, and few of 600.
    """
    pieces = [straight(25.7, 16.0), gap(2.0, 6.0), straight(30.0, 16.0)]
    scenario = ground(pieces, [26.7], 400.0)

    def times(seed: int) -> Array:
        stand = block_m(1.6, 23.4, 16.0, np.random.default_rng(seed)) + np.array([1.8, 0.0])
        return np.sort(crowd_race(scenario, crowd, stand).run().tape.crossing_s[:, 0])

    found = np.array(side_by_side(times, list(seeds)))
    capacity = np.array([steady_flow_per_s(row) for row in found])
    return InstantArrival(found - found[:, :1], capacity)


def field_day(
    width_m: float,
    straight_m: float,
    throat_m: float,
    boxes: int = 20,
    front_row: int = 3,
    **field: Any,
) -> Scenario:
    """A line, a straight, a funnel of 30 m to a throat: one checkpoint, at the throat's end."""
    document = {
        "name": "Throat",
        "clock": {"limit": 600},
        "start": {
            "width": width_m,
            "boxes": boxes,
            "box_width": width_m / boxes,
            "front_row": front_row,
        },
        "course": {
            "pieces": [
                {"piece": "straight", "length": straight_m, "width": width_m},
                {"piece": "narrowing", "length": 30, "width": throat_m},
                {"piece": "straight", "length": 60},
            ],
            "checkpoints": [{"name": "throat", "at": straight_m + 30}],
        },
        "field": {"fill": True, "runners": 6, **field},
        "teams": [{"name": "Alderbrook", "box": 1}],
    }
    return assemble(document, {}, "throat")


def traffic_s(scenario: Scenario, seed: int) -> Array:
    """What did traffic cost everybody up to the throat? (N,) Field minus alone, same box and line."""
    together = field_of(scenario, seed, frames=False).run().tape.crossing_s[:, 0]
    alone = field_of(scenario, seed, frames=False, alone=True).run().tape.crossing_s[:, 0]
    return together - alone


@dataclass(frozen=True)
class Compared:
    """Mean traffic loss, s, under several arrangements, the same seeds in each: (A, S)."""

    names: tuple[str, ...]
    loss_s: Array

    def saved_s(self, before: int, after: int) -> Array:
        """How much less is lost in one arrangement than in another? (S,)"""
        return self.loss_s[before] - self.loss_s[after]


def _compared(
    days: dict[str, Scenario], seeds: Sequence[int], loss: Callable[[Scenario, int], float]
) -> Compared:
    cases = [(day, seed) for day in days.values() for seed in seeds]
    found = np.array(side_by_side(lambda case: loss(*case), cases))
    return Compared(tuple(days), found.reshape(len(days), len(seeds)))


def _mean_traffic_s(scenario: Scenario, seed: int) -> float:
    return float(traffic_s(scenario, seed).mean())


def wider_or_longer(seeds: Sequence[int]) -> Compared:
    """Does a wider line, or a longer straight, cost the field less traffic? 120 runners, a 6 m throat."""
    days = {
        "line 30 m, straight 60 m": field_day(30, 60, 6),
        "line 60 m, straight 60 m": field_day(60, 60, 6),
        "line 30 m, straight 240 m": field_day(30, 240, 6),
    }
    return _compared(days, seeds, _mean_traffic_s)


def dispersion(seeds: Sequence[int]) -> Compared:
    """Does the queue shrink with the straight, and grow when everybody is more alike?

    120 runners of 5 m/s +/- 0.35 and +/- 0.175 in one row on a line of 60 m (so that no start wave
    delays anybody), an even effort, a throat of 8 m.
    """
    days = {}
    for name, spread in (("", 70.0), (", half the spread", 35.0)):
        even: dict[str, Any] = {"ability": "normal", "time": 1000, "spread": spread, "opening": 0}
        for straight_m in (100, 400):
            day = field_day(60, straight_m, 8, front_row=6, opening_spread=0, **even)
            days[f"straight {straight_m} m{name}"] = day
    return _compared(days, seeds, _mean_traffic_s)


def exchanged(seeds: Sequence[int]) -> Compared:
    """Does the field lose less in all when others go first? The boxes' middle and ends change places."""
    day = field_day(40, 60, 6)

    def loss(seed: int) -> Array:
        rosters = day.roster(seed), exchanged_boxes(day, seed)
        return np.array([_mean_loss_s(day, roster) for roster in rosters])

    found = np.array(side_by_side(loss, list(seeds)))
    return Compared(("as drawn", "exchanged"), found.T)


def exchanged_boxes(scenario: Scenario, seed: int) -> Roster:
    """The same people, each half of a line further to the right (or back at the left)."""
    roster, boxes = scenario.roster(seed), scenario.start.boxes
    moved = replace(roster, box=(roster.box - 1 + boxes // 2) % boxes + 1)
    aside = -stand_m(scenario.start_line, moved)[:, 1] / (scenario.start_line.width_m / 2)
    return replace(moved, throat_share=np.clip(aside, -1.0, 1.0))


def _mean_loss_s(scenario: Scenario, roster: Roster) -> float:
    stand = stand_m(scenario.start_line, roster)
    own = own_margins(scenario.strip, roster)
    runs = [
        Race(scenario, roster, stand, own, alone=alone, frames=False) for alone in (False, True)
    ]
    together, alone = (run.run().tape.crossing_s[:, 0].mean() for run in runs)
    return float(together - alone)


@dataclass(frozen=True)
class Openings:
    """How long do 240 people take to leave by four openings, and by two of them? seconds, (S,) each."""

    four_s: Array
    two_s: Array

    @property
    def factor(self) -> float:
        """How many times as long with half of the openings closed?"""
        return float(self.two_s.mean() / self.four_s.mean())


def half_closed(crowd: Crowd, seeds: Sequence[int]) -> Openings:
    """Does closing half of four equal openings double the time? 240 people, openings of 1.2 m.

    A course has one way through, so everybody is given an opening beforehand: four rooms of 60 people
    with an opening each, then two rooms of 120.
    """

    def last_s(people: int, seed: int) -> float:
        pieces = [straight(26.0, 6.0), gap(1.0, 1.2), straight(10.0, 6.0)]
        scenario = ground(pieces, [27.0], 600.0)
        long_m = people / 12.0
        stand = block_m(2.0, long_m, 6.0, np.random.default_rng(seed)) + np.array(
            [25.0 - long_m, 0]
        )
        return float(crowd_race(scenario, crowd, stand).run().tape.crossing_s[:, 0].max())

    def slowest(people: int, rooms: int, seed: int) -> float:
        return max(last_s(people, 100 * seed + room) for room in range(rooms))

    four = side_by_side(lambda seed: slowest(60, 4, seed), list(seeds))
    two = side_by_side(lambda seed: slowest(120, 2, seed), list(seeds))
    return Openings(np.array(four), np.array(two))


def own_times_s(crowd: Crowd, delays_s: Sequence[float]) -> Array:
    """When does each of so many people move who were told to wait 10, 20 ... seconds? (N,)"""
    scenario = ground([straight(60.0, 20.0), straight(300.0, 20.0)], [300.0], 400.0)
    aside = np.arange(len(delays_s)) * 1.5 - 0.75 * (len(delays_s) - 1)
    stand = np.stack([np.full(len(delays_s), 5.0), aside], axis=1)
    race = crowd_race(scenario, crowd, stand)
    race.bodies["wait_s"] = np.array(delays_s, dtype=float)
    moved = np.full(len(delays_s), np.nan)
    while np.isnan(moved).any() and not race.is_over:
        before = race.t_s
        race.advance(1)
        moved[np.isnan(moved) & (race.bodies["speed"] > 0)] = before
    return moved
