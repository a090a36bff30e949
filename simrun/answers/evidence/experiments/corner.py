"""What happens at corners? Inner against outer side, and the share of the field that hugs the inside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from simrun.answers.evidence.experiments.arena import (
    Array,
    Crowd,
    block_m,
    crowd_race,
    ground,
    side_by_side,
    straight,
)
from simrun.engine.run import field_of
from simrun.laws.settings import Settings
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import half_width


@dataclass(frozen=True)
class CornerSides:
    """Mean speed round a sharp corner of the inner and the outer third, at every wish and seed.

    wished_m_s (V,); inner_m_s, outer_m_s (V, S).
    """

    wished_m_s: Array
    inner_m_s: Array
    outer_m_s: Array

    @property
    def slower_m_s(self) -> Array:
        """By how much is the inner side slower? (V, S)"""
        return self.outer_m_s - self.inner_m_s


CORRIDOR_M = 4.0


def corner_sides(crowd: Crowd, wishes: Sequence[float], seeds: Sequence[int]) -> CornerSides:
    """Who is slower when a dense group goes round a corner of 90 degrees, the inner side or the outer?

    96 people, two a square metre, in a corridor 4 m wide, moving already, each keeping their own offset
    from the inside: mean speed in the turn itself, by thirds of the width.
    """
    turn = {"piece": "turn", "side": "left", "angle": 90, "inside_radius": 0}
    walls = {"left": "barrier", "right": "barrier", "surface": "road"}
    legs = straight(26.0, CORRIDOR_M), straight(16.0, CORRIDOR_M)
    scenario = ground([legs[0], {**turn, **walls}, legs[1]], [36.0], 200.0)

    def sides(case: tuple[float, int]) -> tuple[float, float]:
        return _sides(scenario, crowd, *case)

    cases = [(wish, seed) for wish in wishes for seed in seeds]
    found = np.array(side_by_side(sides, cases)).reshape(len(wishes), len(seeds), 2)
    return CornerSides(np.array(wishes, dtype=float), found[:, :, 0], found[:, :, 1])


def _sides(scenario: Scenario, crowd: Crowd, wished: float, seed: int) -> tuple[float, float]:
    stand = block_m(2.0, 12.0, CORRIDOR_M, np.random.default_rng(seed)) + np.array([4.0, 0.0])
    race = crowd_race(scenario, crowd, stand, inside_m=CORRIDOR_M / 2 - stand[:, 1])
    race.bodies["cruise_m_s"], race.bodies["speed"] = wished, 0.7 * wished
    corner = scenario.strip.left_m[scenario.strip.gates[0].first_cut]
    sums, counts = np.zeros(3), np.zeros(3)
    while not race.is_over:
        race.advance(1)
        ahead, aside = race.bodies["x"] - corner[0], race.bodies["y"] - corner[1]
        here = (race.bodies["gone"] == 0) & (ahead > 0) & (aside < 0)
        third = np.minimum(2, np.hypot(ahead, aside)[here] // (CORRIDOR_M / 3)).astype(int)
        sums += np.bincount(third, race.bodies["speed"][here], 3)
        counts += np.bincount(third, minlength=3)
    mean = sums / counts
    return float(mean[0]), float(mean[2])


@dataclass(frozen=True)
class CorridorCorner:
    """Twenty people round the corner of a corridor: how many arrived, and every place, (T, N, 2)."""

    arrived: int
    place_m: Array
    corner_m: tuple[float, float]
    width_m: float
    crossings: int


def twenty_round_a_corner(crowd: Crowd, width_m: float = 2.0) -> CorridorCorner:
    """Do all of twenty people get round the corner of a corridor, and does nobody cross a wall?"""
    turn = {"piece": "turn", "side": "left", "angle": 90, "inside_radius": 0}
    walls = {"left": "barrier", "right": "barrier", "surface": "road"}
    pieces = [straight(12.0, width_m), {**turn, **walls}, straight(12.0, width_m)]
    scenario = ground(pieces, [24.0], 200.0)
    stand = block_m(1.4, 20 / 1.4 / width_m, width_m, np.random.default_rng(1)) + np.array(
        [0.5, 0.0]
    )
    race = crowd_race(scenario, crowd, stand)
    places = []
    while not race.is_over:
        race.advance(1)
        gone = race.bodies["gone"][:, None] == 1
        places.append(np.where(gone, np.nan, np.stack([race.bodies["x"], race.bodies["y"]], 1)))
    arrived = int(np.isfinite(race.tape.crossing_s[:, 0]).sum())
    corner = (12.0, width_m / 2)
    place = np.array(places)
    return CorridorCorner(arrived, place, corner, width_m, walls_crossed(place, corner, width_m))


def walls_crossed(place_m: Array, corner_m: tuple[float, float], width_m: float) -> int:
    """How often did a centre leave a corridor that turns left about a corner? From places alone.

    place_m (T, N, 2). Inside is: to the right of the wall that comes in along y, or ahead of the wall
    that goes on along x, and never further than the width from either. Also half-way between two
    moments, so that a corner is not cut.
    """
    between = (place_m[1:] + place_m[:-1]) / 2
    inside = np.concatenate([place_m, between])
    right, ahead = corner_m[1] - inside[..., 1], inside[..., 0] - corner_m[0]
    coming, going = ahead < 0, right < 0
    out = np.where(
        coming,
        (right < 0) | (right > width_m),
        np.where(going, ahead > width_m, np.hypot(ahead, right) > width_m),
    )
    return int((out & np.isfinite(ahead)).sum())


@dataclass(frozen=True)
class Flip:
    """Exit time inside minus outside at a sharp turn, s, at every crowd size, share and seed.

    runners (R,); share (H,); difference_s (R, H, S): above 0 the outside is faster.
    """

    runners: Array
    share: Array
    difference_s: Array

    @property
    def mean_s(self) -> Array:
        """The mean over seeds, (R, H)."""
        return self.difference_s.mean(axis=2)

    @property
    def reach_s(self) -> Array:
        """Half of the 95 % interval of that mean, (R, H)."""
        from scipy.stats import sem

        return half_width(sem(self.difference_s, axis=2), self.difference_s.shape[2])

    def flips_at(self, size: int) -> float:
        """At which share hugging the inside does the mean change its sign? nan where it does not."""
        mean = self.mean_s[size]
        for before in range(len(mean) - 1):
            if mean[before] < 0 <= mean[before + 1]:
                part = -mean[before] / (mean[before + 1] - mean[before])
                return float(self.share[before] + part * np.diff(self.share)[before])
        return float("nan")


TEAMS_TOLD = 4
"""Teams in the middle boxes that are told their line, half of them inside, and then the other half."""


def flip_chart(runners: Sequence[int], shares: Sequence[float], seeds: Sequence[int]) -> Flip:
    """Inside or outside at a sharp turn, if so many of the others hug the inside?

    Four teams in the middle are told: two inside and two outside, then the other way round, the same
    people each time. Their exit times 51 m after the corner, inside minus outside.
    """

    def difference(case: tuple[int, float, int]) -> float:
        size, share, seed = case
        return told_difference_s(sharp_turn(size // 7, share), seed)

    cases = [(size, share, seed) for size in runners for share in shares for seed in seeds]
    found = np.array(side_by_side(difference, cases))
    shape = (len(runners), len(shares), len(seeds))
    return Flip(np.array(runners), np.array(shares), found.reshape(shape))


def told_difference_s(
    pair: tuple[Scenario, Scenario], seed: int, settings: Settings | None = None
) -> float:
    """Mean exit time inside minus outside of the teams that are told, over both ways of telling them."""
    inside, outside = [], []
    for scenario in pair:
        race = field_of(scenario, seed, frames=False, settings=settings).run()
        told = np.char.startswith(race.roster.team, "Told")
        line = race.roster.choice[:, 1]
        exit_s = race.tape.crossing_s[:, 1]
        inside.append(exit_s[told & (line == "inside")])
        outside.append(exit_s[told & (line == "outside")])
    return float(np.concatenate(inside).mean() - np.concatenate(outside).mean())


@cache
def sharp_turn(teams: int, share: float, pull: float | None = None) -> tuple[Scenario, Scenario]:
    """A wide line, a funnel to 12 m and a sharp left turn at 310 m; the told lines, both ways round."""
    return _sharp_turn(teams, share, pull, 0), _sharp_turn(teams, share, pull, 1)


def _sharp_turn(teams: int, share: float, pull: float | None, swap: int) -> Scenario:
    first = (teams - TEAMS_TOLD) // 2 + 1
    told = [
        {"name": f"Told {i + 1}", "box": first + i, "line": ("inside", "outside")[(i + swap) % 2]}
        for i in range(TEAMS_TOLD)
    ]
    rest = (1.0 - share) / 2
    field: dict[str, Any] = {"fill": True, "opening": 0.1}
    field["lines"] = {"inside": share, "middle": rest, "outside": rest}
    if pull is not None:
        field["pull"] = [pull, pull]
    document = {
        "name": "Sharp turn",
        "clock": {"limit": 360},
        "start": {"width": 60, "boxes": teams, "box_width": 60 / teams, "front_row": 3},
        "course": {"pieces": SHARP_TURN, "checkpoints": SHARP_TURN_MARKS},
        "field": field,
        "teams": told,
    }
    return Scenario.assembled(document, {}, "sharp turn")


SHARP_TURN = [
    {"piece": "straight", "length": 150, "width": 60},
    {"piece": "narrowing", "length": 60, "width": 12},
    {"piece": "straight", "length": 100},
    {"piece": "turn", "name": "corner", "side": "left", "angle": 90, "left": "barrier"},
    {"piece": "straight", "length": 200},
]
SHARP_TURN_MARKS = [{"name": "throat", "at": 210}, {"name": "exit", "at": 361}]
