"""Which of the assumed inputs decides the answers? A space-filling design over all of their ranges.

One race pair a point, a polynomial fitted through the answers, and the shares of variance of that
polynomial. How well it predicts points it was not fitted to is told with it: shares of variance of a
poor fit are worth little.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simrun.answers.evidence.experiments.arena import Array, side_by_side
from simrun.answers.evidence.experiments.corner import sharp_turn
from simrun.engine.field import stand_m
from simrun.engine.run import Race
from simrun.laws.settings import Settings, settings_of
from simrun.runners.line_choice import inside_offset_m
from simrun.runners.roster import Roster
from simrun.runners.streams import stream
from simrun.scenario.scenario import Scenario
from simrun.sources import Figure, figure
from simrun.tactics.margins import own_margins, shortest_margins

OWN = (
    "following_time_s",
    "standstill_gap_m",
    "start_constant_s",
    "comfortable_braking_m_s2",
    "sway_m",
    "sway_per_speed_s",
    "sideways_limit_m_s2",
    "acceleration_limit_m_s2",
    "braking_limit_m_s2",
    "first_stride_room_m",
    "restart_reaction_s",
)

SETTINGS_OF = {
    **{f"runner.{name}": name for name in OWN},
    "gap.track_width_m": "track_width_m",
    "gap.look_s": "gap_look_s",
    "gap.price_per_m": "gap_price_per_s",
    "gap.keep_bonus_m_s": "gap_keep_bonus_m_s",
    "anticipate.cap_m_s2": "anticipate_cap_m_s2",
    "contact.friction": "contact_friction",
    "bend.rounding_room_m": "bend_rounding_room_m",
    "aim.ahead_s": "aim_ahead_s",
    "steer.time_s": "steer_time_s",
}
"""Which setting does a figure become?"""

OTHERS = ("runner.body_radius_m", "line.inside_share", "line.pull")

OUTCOMES = (
    "spread of time lost between boxes at the throat",
    "inside minus outside at the sharp turn",
    "time lost at the throat by the outermost boxes",
)


def assumed_inputs() -> tuple[Figure, ...]:
    """The assumed figures that decide a race: every setting of the kernel, body, inside share, pull.

    Whole numbers (tracks, sweeps) and the clock's step are left out: they are means of computing.
    """
    from simrun.sources import figures

    keys = set(SETTINGS_OF) | set(OTHERS)
    return tuple(f for f in figures() if f.key in keys and f.kind == "assumed")


@dataclass(frozen=True)
class Sensitivity:
    """P points in D inputs and what they gave; shares of variance of a fitted polynomial.

    keys (D,); point (P, D) in units of the figures; outcome (P, 3), seconds, in the order of OUTCOMES.
    first, total (3, D): shares of the variance of the fit, alone and with the others. fit (3,): share
    of the variance of points left out that the fit predicts. noise (3,): share of the variance that
    other seeds make at one point.
    """

    keys: tuple[str, ...]
    point: Array
    outcome: Array
    first: Array
    total: Array
    fit: Array
    noise: Array

    def decisive(self, outcome: int, count: int = 4) -> list[tuple[str, float, float]]:
        """The inputs with the largest shares: key, share alone, share with the others."""
        order = np.argsort(-self.total[outcome])[:count]
        first, total = self.first[outcome], self.total[outcome]
        return [(self.keys[i], float(first[i]), float(total[i])) for i in order]

    def positive_share(self, outcome: int, key: str, low: float, high: float) -> float:
        """In which share of the points with this input between low and high is the outcome above 0?"""
        column = self.point[:, self.keys.index(key)]
        return float((self.outcome[(column >= low) & (column <= high), outcome] > 0).mean())


def sensitivity(points: int = 64, replicates: int = 6) -> Sensitivity:
    """How do the three outcomes follow the assumed inputs? `points`, a power of two, at 2 races each."""
    from scipy.stats import qmc

    inputs = assumed_inputs()
    low, high = (np.array([getattr(f, end) for f in inputs]) for end in ("low", "high"))
    unit = qmc.Sobol(len(inputs), rng=1).random(points)
    point = low + unit * (high - low)
    keys = tuple(f.key for f in inputs)
    centre = np.tile([f.value for f in inputs], (replicates, 1))
    cases = [(dict(zip(keys, row, strict=True)), i) for i, row in enumerate((*point, *centre))]
    found = np.array(side_by_side(lambda case: outcomes(*case), cases))
    outcome, again = found[:points], found[points:]
    fits = [fitted(2 * unit - 1, outcome[:, o], keys.index("line.inside_share")) for o in range(3)]
    shares = [variance_shares(fit[0], len(keys)) for fit in fits]
    return Sensitivity(
        keys=keys,
        point=point,
        outcome=outcome,
        first=np.array([first for first, _ in shares]),
        total=np.array([total for _, total in shares]),
        fit=np.array([fit[1] for fit in fits]),
        noise=again.var(axis=0, ddof=1) / outcome.var(axis=0, ddof=1),
    )


def outcomes(values: dict[str, float], number: int) -> tuple[float, float, float]:
    """Box spread, inside minus outside, and loss of the outermost boxes with these inputs, seconds."""
    changes: dict[str, Any] = {
        SETTINGS_OF[key]: value for key, value in values.items() if key in SETTINGS_OF
    }
    settings = settings_of("runner")._replace(**changes)
    lost, exit_s, line, box = [], [], [], []
    for scenario in sharp_turn(24, 0.6):
        roster = told_roster(scenario, number + 1, values)
        stand = stand_m(scenario.start_line, roster)
        crossing = _crossing_s(scenario, roster, stand, settings, alone=False)
        middle = np.tile(scenario.start_line.stand_middle_m(12), (len(roster), 1))
        best = _crossing_s(scenario, roster, middle, settings, alone=True)
        lost.append(crossing[:, 0] - best[:, 0])
        told = np.char.startswith(roster.team, "Told")
        exit_s.append(crossing[told, 1])
        line.append(roster.choice[told, 1])
        box.append(roster.box)
    where, seconds = np.concatenate(box), np.concatenate(lost)
    groups = [seconds[(where - 1) // 3 == group].mean() for group in range(8)]
    inside = np.concatenate(line) == "inside"
    times = np.concatenate(exit_s)
    difference = times[inside].mean() - times[~inside].mean()
    outermost = seconds[(where == 1) | (where == 24)].mean()
    return float(np.std(groups)), float(difference), float(outermost)


def _crossing_s(
    scenario: Scenario, roster: Roster, stand: Array, settings: Settings, alone: bool
) -> Array:
    way = shortest_margins(scenario.strip, len(roster)) if alone else None
    margins = way or own_margins(scenario.strip, roster)
    race = Race(scenario, roster, stand, margins, alone=alone, frames=False, settings=settings)
    return race.run().tape.crossing_s


def told_roster(scenario: Scenario, seed: int, values: dict[str, float]) -> Roster:
    """The people of this seed with the body, the inside share and the pull of `values`."""
    roster = scenario.roster(seed)
    turn = 1
    width = float(scenario.strip.width_m[scenario.strip.gates[turn].first_cut])
    draw, place = stream(seed, "lines").random((2, len(roster)))
    share = values["line.inside_share"]
    drawn = np.where(draw < share, "inside", np.where(draw < (1 + share) / 2, "middle", "outside"))
    told = np.char.startswith(roster.team, "Told")
    choice, inside_m = roster.choice.copy(), roster.inside_m.copy()
    for line in ("inside", "middle", "outside"):
        free = ~told & (drawn == line)
        choice[free, turn] = line
        inside_m[free, turn] = inside_offset_m(line, width, place[free])
    size = values["runner.body_radius_m"] / figure("runner.body_radius_m").value
    pull = np.full(len(roster), values["line.pull"])
    body = roster.radius_m * size
    return replace(roster, choice=choice, inside_m=inside_m, pull=pull, radius_m=body)


Fit = Callable[[Array], Array]


def fitted(unit: Array, answer: Array, decisive: int) -> tuple[Fit, float]:
    """A polynomial through the answers, and the share of the variance of left-out points it predicts.

    unit (P, D) from -1 to 1. Terms: every input, its square, and its product with the decisive one;
    large coefficients have a price (ridge), chosen so that points left out are predicted best.
    """

    def terms(at: Array) -> Array:
        others = np.delete(at, decisive, axis=1)
        return np.hstack([at, at**2 - 1 / 3, others * at[:, [decisive]]])

    centre, mean = terms(unit).mean(axis=0), answer.mean()
    basis = terms(unit) - centre
    best = min(PRICES, key=lambda price: _left_out_error(basis, answer, price))
    weights = np.linalg.solve(_priced(basis, best), basis.T @ (answer - mean))
    error = _left_out_error(basis, answer, best)
    return lambda at: mean + (terms(at) - centre) @ weights, 1.0 - error / float(answer.var())


PRICES = (0.3, 1.0, 3.0, 10.0, 30.0, 100.0)


def _priced(basis: Array, price: float) -> Array:
    return np.asarray(basis.T @ basis + price * np.eye(basis.shape[1]))


def _left_out_error(basis: Array, answer: Array, price: float) -> float:
    """Mean square error of predicting every point from all others, exactly (hat matrix)."""
    hat = basis @ np.linalg.solve(_priced(basis, price), basis.T) + 1.0 / len(answer)
    residual = answer - hat @ answer
    return float(np.mean((residual / (1.0 - np.diag(hat))) ** 2))


def variance_shares(fit: Fit, inputs: int) -> tuple[Array, Array]:
    """First-order and total Sobol indices of a fitted answer, inputs even from -1 to 1: (D,), (D,)."""
    from scipy.stats import sobol_indices, uniform

    even = [uniform(-1, 2)] * inputs
    found = sobol_indices(func=lambda x: fit(x.T), n=1024, dists=even, rng=1)
    return found.first_order, found.total_order
