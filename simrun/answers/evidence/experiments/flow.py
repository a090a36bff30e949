"""How do crowds flow? A closed corridor, a bottleneck, a standing column that sets off, a single file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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
    wishes_m_s,
)
from simrun.engine.kernel.look import time_kept_s
from simrun.engine.run import Race

LEAD_M = 20.0
"""Ground before and after the closed stretch, where the copies of its ends lie."""

COPIED_M = 8.0
"""More than anybody looks ahead, so nobody sees where the copies end."""


@dataclass(frozen=True)
class SpeedDensity:
    """Mean speed along a closed corridor, and flow per metre of width, at every density: (D,)."""

    density_per_m2: Array
    speed_m_s: Array
    wished_m_s: float

    @property
    def flow_per_s_m(self) -> Array:
        """Density times mean speed, (D,)."""
        return self.density_per_m2 * self.speed_m_s

    @property
    def saturation_per_s_m(self) -> float:
        """The largest flow at any density."""
        return float(self.flow_per_s_m.max())


def closed_corridor(
    crowd: Crowd,
    densities: Sequence[float],
    settle_s: float = 20.0,
    measured_s: float = 15.0,
    seeds: Sequence[int] = (1, 2, 3),
) -> SpeedDensity:
    """How fast is a crowd at a steady density? A straight corridor closed upon itself.

    4 m wide between walls, 24 m long; whoever leaves at its end comes in at its beginning, and copies
    of both ends stand beyond them, so everybody has neighbours ahead and behind and nothing bends. Wishes
    differ as they do in the crowd that was measured: equals would settle into files. The mean over seeds.
    """

    def speed(case: tuple[float, int]) -> float:
        race, count = _closed(crowd, *case)
        # A crowd under way, not one before the gun: nobody has a first stride to make.
        race.bodies["off"] = 1
        _go_round(race, count, settle_s)
        return _go_round(race, count, measured_s)

    speeds = side_by_side(speed, [(density, seed) for density in densities for seed in seeds])
    mean = np.array(speeds).reshape(len(densities), len(seeds)).mean(axis=1)
    return SpeedDensity(np.array(densities, dtype=float), mean, crowd.wished_m_s)


LENGTH_M, WIDTH_M = 24.0, 4.0


def _closed(crowd: Crowd, density: float, seed: int) -> tuple[Race, int]:
    """A race on the closed corridor: the crowd, then as many records again for the copies."""
    pieces = [straight(length, WIDTH_M) for length in (LEAD_M, LENGTH_M, LEAD_M, 500.0)]
    scenario = ground(pieces, [500.0], 3600.0)
    stand = block_m(density, LENGTH_M, WIDTH_M, np.random.default_rng(seed)) + np.array(
        [LEAD_M, 0.0]
    )
    race = crowd_race(scenario, crowd, np.vstack([stand, stand]))
    race.bodies["cruise_m_s"] = np.tile(wishes_m_s(crowd, len(stand), seed), 2)
    race.bodies["speed"] = 0.3 * crowd.wished_m_s
    return race, len(stand)


def _go_round(race: Race, count: int, seconds: float) -> float:
    """Run on so long and return the mean speed along the corridor."""
    way = 0.0
    steps = round(seconds / race.step_s)
    crowd = race.bodies[:count]
    for _ in range(steps):
        _close(crowd, race.bodies[count:])
        before = crowd["x"].copy()
        race.advance(1)
        way += float((crowd["x"] - before).mean())
    return way / (steps * race.step_s)


def _close(crowd: Any, copies: Any) -> None:
    """Bring those past the end to the beginning and renew the copies of both ends."""
    _shift(crowd, crowd["x"] >= LEAD_M + LENGTH_M, -1)
    copies["gone"] = 1
    ahead = crowd[crowd["x"] < LEAD_M + COPIED_M]
    behind = crowd[crowd["x"] > LEAD_M + LENGTH_M - COPIED_M]
    for which, lengths in ((ahead, 1), (behind, -1)):
        _shift(which, np.full(len(which), True), lengths)
    seen = np.concatenate([ahead, behind])
    copies[: len(seen)] = seen


def _shift(bodies: Any, which: Any, lengths: int) -> None:
    for name in ("x", "aim_x"):
        bodies[name][which] += lengths * LENGTH_M
    bodies["cell"][which] += lengths


@dataclass(frozen=True)
class FlowWidth:
    """Flow through openings of several widths, (W,): persons a second between 20 and 80 % through."""

    width_m: Array
    flow_per_s: Array

    @property
    def flow_per_s_m(self) -> Array:
        """Flow for every metre of width, (W,)."""
        return self.flow_per_s / self.width_m

    @property
    def straightness(self) -> float:
        """R2 of a straight line through flow against width."""
        return float(np.corrcoef(self.width_m, self.flow_per_s)[0, 1] ** 2)


def walkers_bottleneck(crowd: Crowd, widths: Sequence[float], seeds: Sequence[int]) -> FlowWidth:
    """How many walkers get through an opening? 150 of them, from a room 6 m wide and full."""
    stand = {seed: block_m(2.5, 10.0, 6.0, np.random.default_rng(seed)) for seed in seeds}

    def flow(width: float) -> float:
        pieces = [straight(12.0, 6.0), gap(2.8, width), straight(20.0, 6.0)]
        scenario = ground(pieces, [14.0], 400.0)
        return _mean_flow(scenario, crowd, list(stand.values()))

    return FlowWidth(np.array(widths, dtype=float), np.array(side_by_side(flow, list(widths))))


def runners_throat(crowd: Crowd, widths: Sequence[float], seeds: Sequence[int]) -> FlowWidth:
    """How many runners get through a throat? 40 a metre of it, from a line four times as wide.

    One person a square metre behind the line; 20 m to a funnel of 30 m; counted at its end.
    """

    def flow(width: float) -> float:
        wide = 4.0 * width
        funnel = {"piece": "narrowing", "length": 30.0, "width": width, "surface": "road"}
        walls = {"left": "barrier", "right": "barrier"}
        pieces = [straight(30.0, wide), {**funnel, **walls}, straight(60.0, width)]
        scenario = ground(pieces, [60.0], 400.0)
        stands = [block_m(1.0, 10.0, wide, np.random.default_rng(seed)) for seed in seeds]
        return _mean_flow(scenario, crowd, stands)

    return FlowWidth(np.array(widths, dtype=float), np.array(side_by_side(flow, list(widths))))


def _mean_flow(scenario: Any, crowd: Crowd, stands: Sequence[Array]) -> float:
    return float(np.mean([_flow_per_s(scenario, crowd, stand) for stand in stands]))


def _flow_per_s(scenario: Any, crowd: Crowd, stand: Array) -> float:
    race = crowd_race(scenario, crowd, stand)
    race.bodies["cruise_m_s"] = wishes_m_s(crowd, len(stand))
    return steady_flow_per_s(race.run().tape.crossing_s[:, 0])


def steady_flow_per_s(crossing_s: Array) -> float:
    """Persons a second between the first and the last fifth of those who came; 0 where many did not."""
    times = np.sort(crossing_s[np.isfinite(crossing_s)])
    if len(times) < 0.8 * len(crossing_s):
        return 0.0
    low, high = round(0.2 * len(times)), round(0.8 * len(times)) - 1
    return float((high - low) / (times[high] - times[low]))


@dataclass(frozen=True)
class StartWave:
    """When did who set off? Metres behind the front and seconds, (N,); and the speed of the wave."""

    behind_m: Array
    set_off_s: Array

    @property
    def speed_m_s(self) -> float:
        """Metres for every second of a straight line through place and time of setting off."""
        slope = np.polyfit(self.behind_m, self.set_off_s, 1)[0]
        return float(1.0 / slope)


def start_wave(crowd: Crowd, row_gap_m: float = 1.0, rows: int = 16) -> StartWave:
    """How fast does setting off run back through standing rows, four abreast, all free to go?

    Rows stand one behind the other as in the boxes of a start line; the speed depends on their gap.
    """
    front_m = row_gap_m * rows
    scenario = ground([straight(front_m + 200.0, WIDTH_M)], [front_m + 150.0], 300.0)
    stand = _rows_of_four_m(row_gap_m, rows)
    race = crowd_race(scenario, crowd, stand)
    set_off = np.full(len(stand), np.nan)
    while np.isnan(set_off).any() and not race.is_over:
        race.advance(1)
        moved = np.isnan(set_off) & (race.bodies["x"] - stand[:, 0] > 0.1)
        set_off[moved] = race.t_s
    return StartWave(stand[0, 0] - stand[:, 0], set_off)


def line_left_s(crowd: Crowd, row_gap_m: float = 1.0, rows: int = 60, alone: bool = False) -> Array:
    """When does everybody of rows four abreast on 4 m cross the front line? In order, (4 rows,).

    alone: nobody minds anybody.
    """
    front_m = row_gap_m * rows
    scenario = ground([straight(front_m + 60.0, WIDTH_M)], [front_m + 0.5], 300.0)
    race = crowd_race(scenario, crowd, _rows_of_four_m(row_gap_m, rows), alone=alone)
    race.bodies["cruise_m_s"] = wishes_m_s(crowd, 4 * rows)
    return np.sort(race.run().tape.crossing_s[:, 0])


def _rows_of_four_m(row_gap_m: float, rows: int) -> Array:
    """Where rows four abreast stand behind their front line, (4 rows, 2), the first row first."""
    row, file = np.divmod(np.arange(4 * rows), 4)
    return np.stack([row_gap_m * rows - row_gap_m * (row + 0.5), file - 1.5], axis=1)


def evenness(left_s: Array) -> float:
    """How straight is the curve of who left the line, from a quarter of them on? R2 of count against time."""
    at = left_s[len(left_s) // 4 :]
    return float(np.corrcoef(at, np.arange(len(at)))[0, 1] ** 2)


@dataclass(frozen=True)
class Following:
    """The free gap kept behind a leader at every speed, (V,), and s0 + T v with T as of `kept_time_s`."""

    speed_m_s: Array
    gap_m: Array
    law_m: Array


def single_file(crowd: Crowd, speeds: Sequence[float], followers: int = 5) -> Following:
    """Which distance do followers keep behind a slower leader, one behind the other?

    A corridor one body wide; everybody but the leader wishes to go faster. After a minute.
    """
    scenario = ground([straight(900.0, 3.0 * crowd.radius_m)], [899.0], 200.0)
    places = np.arange(followers, -1, -1) * 3.0

    def mean_gap(speed: float) -> float:
        race = crowd_race(scenario, crowd, np.stack([places, 0.0 * places], axis=1))
        race.bodies["cruise_m_s"][0] = speed
        race.advance(round(60.0 / race.step_s))
        apart = -np.diff(race.bodies["x"]) - 2.0 * crowd.radius_m
        return float(apart.mean())

    gaps = np.array([mean_gap(speed) for speed in speeds])
    told, wish = crowd.settings, crowd.wished_m_s
    keeps_s = np.array([time_kept_s(speed, speed, wish, told) for speed in speeds])
    law = told.standstill_gap_m + keeps_s * np.array(speeds)
    return Following(np.array(speeds, dtype=float), gaps, law)
