"""Where do the stakes of the start line go? What the crew sights to, two pegs, and tapes from both.

The line is raced in the frame of the course: x is square to the course's two edges at the start, and nothing
says that the first narrowing lies straight ahead. So the crew is not told to sight to its middle but to the
mark where the axis of the line crosses it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import (
    TAPE_M,
    TAPE_REACH_M,
    StartSpec,
    bow_m,
    box_ends_m,
    box_middles_m,
    in_line_m,
    paint_m,
    turned_m,
)
from simrun.course.strip import Gate, Strip
from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]

AHEAD_SHARE, APART_SHARE = 0.5, 0.7
"""The two fixed points lie half a line's width ahead of it, 0.35 of it to either side: the two tapes then
cross at 42 degrees or more anywhere along the line, and a centimetre on a tape stays one on the ground."""

CHAIN_AHEAD_M = 30.0
"""Where two pegs are too far for a tape, more of them stand so far ahead of the line."""

LEAST_CROSSING_DEG = 30.0
"""A mark further from the nearer edge than a tape reaches, or on a line that the axis crosses at a flatter
angle, is no mark to sight to (assumed)."""


@dataclass(frozen=True)
class Sighting:
    """The mark that the axis of the line points at, in line with the two edges of a narrowing or turn.

    left_m, right_m (2,): those edges. right_of_middle_m: the mark from the middle between them, as the
    tape reads it, below zero to the left. away_m: from the middle of the line to the mark.
    """

    name: str
    kind: str
    left_m: Array
    right_m: Array
    right_of_middle_m: float
    away_m: float

    @property
    def width_m(self) -> float:
        """How far are the two edges apart there?"""
        return float(np.hypot(*(self.right_m - self.left_m)))

    @property
    def mark_m(self) -> Array:
        """Where does the mark stand when it is taped off? (2,)"""
        across = (self.right_m - self.left_m) / self.width_m
        return np.asarray((self.left_m + self.right_m) / 2 + across * self.right_of_middle_m)


@dataclass(frozen=True)
class StakePlan:
    """The stakes between the boxes from left to right, B + 1 of them; metres, angles in degrees.

    pegs_m (P, 2): the fixed points from left to right, metres ahead of the middle of the line and to its
    left, all as far ahead. stake_m (B + 1, 2). left_peg (B + 1,): the number, from 0, of the peg that the
    left tape is held at; the right tape is held at the next one. from_left_m, from_right_m (B + 1,): the
    tapes. along_m (B + 1,): straight from the left end stake to this one, as a check. along_string_m,
    behind_string_m (B + 1,): the other way, once both end stakes stand: so far along the string between
    them from the left one, and so far back from it. bow_m: how far the ends of the line lie ahead of its
    middle. box_turn_deg (B,): by how much each box faces to the left of the straight ahead, below zero to
    the right. sighting: None where the course has no mark to sight to; then the axis is found square to the
    two edges of the course at the start, and turned by tilt_deg to the left. sideways_m: how far the middle
    peg stands to the left of halfway between those edges, as the tape reads it; middle_off_m: by how much
    that is too far.
    """

    pegs_m: Array
    stake_m: Array
    left_peg: NDArray[np.int64]
    from_left_m: Array
    from_right_m: Array
    along_m: Array
    along_string_m: Array
    behind_string_m: Array
    bow_m: float
    box_turn_deg: Array
    sighting: Sighting | None = None
    tilt_deg: float = 0.0
    sideways_m: float = 0.0
    middle_off_m: float = 0.0


def stake_plan(scenario: Scenario, tape_m: float = TAPE_M) -> StakePlan:
    """Where does every stake go, with tapes that are read to `tape_m`?

    Check: tests/unit/measure/test_stakes.py (laid out again from the tapes),
    tests/validation/test_stakes_laid_out.py (from the text of the CSV alone, the narrowing off the axis).
    """
    raced = scenario.start_line.spec
    spec = replace(raced, tilt_deg=0.0, sideways_m=0.0)  # all in the line's own frame
    sideways_m = float(_read(raced.sideways_m, tape_m))
    stakes = paint_m(spec, box_ends_m(spec))
    pegs = _read(_pegs_m(spec.width_m), tape_m)
    left = _left_pegs(stakes, pegs)
    return StakePlan(
        pegs_m=pegs,
        stake_m=stakes,
        left_peg=left,
        from_left_m=_taped(stakes, pegs[left], tape_m),
        from_right_m=_taped(stakes, pegs[left + 1], tape_m),
        along_m=_taped(stakes, stakes[0], tape_m),
        along_string_m=_read(stakes[0, 1] - stakes[:, 1], tape_m),
        behind_string_m=_read(stakes[0, 0] - stakes[:, 0], tape_m),
        bow_m=bow_m(spec),
        box_turn_deg=_turns(scenario),
        sighting=sighting_of(scenario.strip, raced, tape_m),
        tilt_deg=raced.tilt_deg,
        sideways_m=sideways_m,
        middle_off_m=sideways_m - raced.sideways_m,
    )


def _pegs_m(width_m: float) -> Array:
    """Two fixed points where two tapes reach every stake from them; else as many as that takes, as far apart.

    Chained pegs stand CHAIN_AHEAD_M ahead, no further apart than sqrt(reach^2 - ahead^2): a stake between two
    of them is within the reach of both.
    """
    ahead, aside = AHEAD_SHARE * width_m, APART_SHARE * width_m / 2
    if np.hypot(ahead, aside + width_m / 2) <= TAPE_REACH_M:
        return np.array([[ahead, aside], [ahead, -aside]])
    most_apart = float(np.sqrt(TAPE_REACH_M**2 - CHAIN_AHEAD_M**2))
    across = np.linspace(width_m / 2, -width_m / 2, int(np.ceil(width_m / most_apart)) + 1)
    return np.stack([np.full(len(across), CHAIN_AHEAD_M), across], axis=1)


def _left_pegs(stakes_m: Array, pegs_m: Array) -> NDArray[np.int64]:
    """Of which neighbouring two pegs is the further one nearest? The left one's number, for every stake."""
    away = np.hypot(*(stakes_m[:, None] - pegs_m).transpose(2, 0, 1))
    return np.asarray(np.maximum(away[:, :-1], away[:, 1:]).argmin(axis=1), dtype=np.int64)


def sighting_of(strip: Strip, spec: StartSpec, tape_m: float = TAPE_M) -> Sighting | None:
    """What does the line point at? At the first narrowing, else the first turn; None where no mark can be.

    The axis y = 0 crosses the line through the edges L and R at L + t (R - L), t = L_y / (L_y - R_y).
    """
    gate = _first_gate(strip)
    return None if gate is None else _sighting_at(gate, _edges_m(strip, gate, spec), tape_m)


def _first_gate(strip: Strip) -> Gate | None:
    throats = [gate for gate in strip.gates if gate.kind == "throat"]
    return next(iter([*throats, *strip.gates]), None)


def _edges_m(strip: Strip, gate: Gate, spec: StartSpec) -> Array:
    cut = gate.last_cut if gate.kind == "throat" else gate.first_cut
    return in_line_m(spec, np.stack([strip.left_m[cut], strip.right_m[cut]]))


def _sighting_at(gate: Gate, edges_m: Array, tape_m: float) -> Sighting | None:
    left, right = edges_m
    width = float(np.hypot(*(left - right)))
    if left[1] - right[1] < width * np.sin(np.radians(LEAST_CROSSING_DEG)):
        return None
    share = left[1] / (left[1] - right[1])
    away = float(left[0] + share * (right[0] - left[0]))
    aside = float(_read((share - 0.5) * width, tape_m))
    if away <= 0 or abs(aside) - width / 2 > TAPE_REACH_M:
        return None
    return Sighting(gate.name, gate.kind, left, right, aside, away)


def first_narrow_edges_m(strip: Strip, spec: StartSpec) -> tuple[str, Array] | None:
    """What is the first narrowing (else turn) called, and where are its edges in the line's frame? (2, 2)

    Left and right, metres ahead of the middle of the line and to its left; None where there is none.
    """
    gate = _first_gate(strip)
    return None if gate is None else (gate.name, _edges_m(strip, gate, spec))


def across_m(strip: Strip, spec: StartSpec, ahead_m: float) -> tuple[float, float] | None:
    """How far to the left and to the right of the way ahead are the course's edges, so far ahead of the line?

    Where they are first come to, square to the way towards the mark; None where an edge never gets there.
    """
    found = []
    for edge in (strip.left_m, strip.right_m):
        x, y = in_line_m(spec, edge).T
        past = np.flatnonzero((x[:-1] < ahead_m) & (x[1:] >= ahead_m))
        if not len(past):
            return None
        k = int(past[0])
        found.append(float(y[k] + (ahead_m - x[k]) / (x[k + 1] - x[k]) * (y[k + 1] - y[k])))
    return found[0], -found[1]


def _taped(points_m: Array, peg_m: Array, tape_m: float) -> Array:
    """Distances from a peg, one for all (2,) or each its own (P, 2), as the tape is read."""
    return _read(np.hypot(*(points_m - peg_m).T), tape_m)


def _read(length_m: Array | float, tape_m: float) -> Array:
    return np.asarray(np.round(np.asarray(length_m) / tape_m) * tape_m)


def _turns(scenario: Scenario) -> Array:
    """A box faces the point the arc is about; on a straight line, straight ahead."""
    spec = scenario.start_line.spec
    if spec.shape != "arc" or spec.aim_m is None:
        return np.zeros(spec.boxes)
    return np.asarray(np.degrees(np.arcsin(box_middles_m(spec) / spec.aim_m)))


def laid_out_m(plan: StakePlan) -> Array:
    """Where do the stakes end up when the mark is sighted and the two tapes are crossed? (B + 1, 2)

    Two circles about its pegs; of their two crossings the one on the line's side, in the frame whose axis
    points at the mark, about the middle peg where the tape has it.
    """
    left_m, right_m = plan.pegs_m[plan.left_peg], plan.pegs_m[plan.left_peg + 1]
    apart = np.hypot(*(left_m - right_m).T)
    towards = (plan.from_left_m**2 - plan.from_right_m**2 + apart**2) / (2 * apart)
    back = np.sqrt(np.maximum(0.0, plan.from_left_m**2 - towards**2))
    laid = np.stack([left_m[:, 0] - back, left_m[:, 1] - towards], axis=1)
    ahead = np.array([1.0, 0.0]) if plan.sighting is None else plan.sighting.mark_m
    ahead = ahead / np.hypot(*ahead)
    off = turned_m(np.array([[0.0, plan.middle_off_m]]), -plan.tilt_deg)
    return np.asarray(laid @ np.array([ahead, [-ahead[1], ahead[0]]])) + off


def tape_error_m(plan: StakePlan) -> float:
    """By how much may a stake be off by the reading of the tapes, the mark's too? The largest, in metres."""
    return float(np.hypot(*(laid_out_m(plan) - plan.stake_m).T).max())
