"""Where do the stakes of the start line go? Tape distances from two fixed points, for two volunteers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import bow_m, paint_m
from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]

AHEAD_SHARE, APART_SHARE = 0.5, 0.5
"""The two fixed points lie half a line's width ahead of it, a quarter of it to either side: so that the two
tapes cross at no flat angle anywhere along the line."""

TAPE_M = 0.01
"""Tapes are read to the centimetre."""


@dataclass(frozen=True)
class StakePlan:
    """The stakes between the boxes from left to right, B + 1 of them; metres, angles in degrees.

    left_peg_m, right_peg_m (2,): the fixed points, metres ahead of the middle of the line and to its left.
    stake_m (B + 1, 2). from_left_m, from_right_m (B + 1,): the two tapes. along_m (B + 1,): along the
    paint's chord from the left end stake to this one, as a check. bow_m: how far the ends of the line lie
    ahead of its middle. box_turn_deg (B,): by how much each box faces to the left of the straight
    ahead, below zero to the right.
    """

    left_peg_m: Array
    right_peg_m: Array
    stake_m: Array
    from_left_m: Array
    from_right_m: Array
    along_m: Array
    bow_m: float
    box_turn_deg: Array


def stake_plan(scenario: Scenario) -> StakePlan:
    """Where does every stake go? Check: tests/unit/measure/test_stakes.py (laid out again from the tapes)."""
    spec = scenario.start_line.spec
    stakes = paint_m(spec, (np.arange(spec.boxes + 1) - spec.boxes / 2) * spec.box_width_m)
    ahead, aside = AHEAD_SHARE * spec.width_m, APART_SHARE * spec.width_m / 2
    pegs = np.round([[ahead, aside], [ahead, -aside]], 2)
    return StakePlan(
        left_peg_m=pegs[0],
        right_peg_m=pegs[1],
        stake_m=stakes,
        from_left_m=_taped(stakes, pegs[0]),
        from_right_m=_taped(stakes, pegs[1]),
        along_m=_taped(stakes, stakes[0]),
        bow_m=bow_m(spec),
        box_turn_deg=_turns(scenario),
    )


def _taped(points_m: Array, peg_m: Array) -> Array:
    """Distances from a peg, to the centimetre."""
    return np.asarray(np.round(np.hypot(*(points_m - peg_m).T) / TAPE_M) * TAPE_M)


def _turns(scenario: Scenario) -> Array:
    """A box faces the point the arc is about; on a straight line, straight ahead."""
    spec = scenario.start_line.spec
    if spec.shape != "arc" or spec.aim_m is None:
        return np.zeros(spec.boxes)
    middle = (np.arange(spec.boxes) + 0.5 - spec.boxes / 2) * spec.box_width_m
    return np.asarray(np.degrees(np.arcsin(middle / spec.aim_m)))


def laid_out_m(plan: StakePlan) -> Array:
    """Where do the stakes end up when the two tapes are crossed behind the pegs? (B + 1, 2)

    Two circles about the pegs; of their two crossings the one on the line's side.
    """
    apart = float(np.hypot(*(plan.left_peg_m - plan.right_peg_m)))
    towards = (plan.from_left_m**2 - plan.from_right_m**2 + apart**2) / (2 * apart)
    back = np.sqrt(np.maximum(0.0, plan.from_left_m**2 - towards**2))
    return np.stack([plan.left_peg_m[0] - back, plan.left_peg_m[1] - towards], axis=1)


def tape_error_m(plan: StakePlan) -> float:
    """By how much may a stake be off because tapes are read to the centimetre? The largest, in metres."""
    return float(np.hypot(*(laid_out_m(plan) - plan.stake_m).T).max())
