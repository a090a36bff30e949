"""Straights found in a walk become straights and arcs to begin a fit with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simrun.course.walked.track_chain import Bit
from simrun.course.walked.track_fit import BOW_RAD, BOW_RADIUS_M, USUAL_RADIUS_M
from simrun.course.walked.track_straights import Straight
from simrun.course.walked.track_walk import EVEN_M

Array = NDArray[np.float64]

LEAST_BEND_RAD = float(np.deg2rad(6))
"""Two straights that differ by less are one (assumed: what a watch's error makes of one)."""

CROSSES_RAD = float(np.deg2rad(20))
HAIRPIN_RAD = float(np.deg2rad(140))


def bend_rad(one: Straight, other: Straight) -> float:
    """By how much the way turns between two straights, positive to the left.

    Of a hairpin the angle alone does not say to which side: that is where the way back lies.
    """
    bend = float((other.heading_rad - one.heading_rad + np.pi) % (2 * np.pi) - np.pi)
    if abs(bend) > HAIRPIN_RAD:
        x, y = one.step_m
        aside = np.array([-y, x]) @ (other.middle_m - one.middle_m)
        if aside * bend < 0:
            bend -= np.sign(bend) * 2 * np.pi
    return bend


@dataclass(frozen=True)
class Begun:
    """Bits to begin with, the metres of the walk at which they begin and the last one ends, (B + 1,).

    lap_at: the bit with which the lap begins. turns: which bit is the turn before every straight.
    heading_rad: of the first straight.
    """

    bits: tuple[Bit, ...]
    begins_m: Array
    lap_at: int | None
    turns: dict[int, int]
    heading_rad: float


def begun_of(points: Array, straights: Sequence[Straight], lap_from: int | None) -> Begun:
    ends, radius = _corners(points, straights)
    way = ends[:, 1] - ends[:, 0]
    heading = np.arctan2(way[:, 1], way[:, 0])
    bits: list[Bit] = []
    begins, lap_at, turns = [0.0], None, {}
    for k, one in enumerate(straights):
        if k:
            bend = float((heading[k] - heading[k - 1] + np.pi) % (2 * np.pi) - np.pi)
            bend += 2 * np.pi * round((bend_rad(straights[k - 1], one) - bend) / (2 * np.pi))
            turns[k] = len(bits)
            bits.append(Bit(bend_rad=bend or LEAST_BEND_RAD, radius_m=radius[k]))
            begins.append(one.first * EVEN_M)
        length = float(np.hypot(*way[k])) - _cut_m(straights, radius, k)
        length = max(2.0, length - _cut_m(straights, radius, k + 1))
        if lap_from is not None and lap_at is None and one.first < lap_from < one.last:
            share = (lap_from - one.first) / (one.last - one.first)
            bits.append(Bit(max(1.0, share * length)))
            begins.append(lap_from * EVEN_M)
            lap_at, length = len(bits), max(1.0, (1 - share) * length)
        bits.append(Bit(length))
        begins.append(one.last * EVEN_M)
    return Begun(tuple(bits), np.array(begins), lap_at, turns, float(heading[0]))


def _cut_m(straights: Sequence[Straight], radius: Array, k: int) -> float:
    """How much of a straight the arc between it and the one before, or after, takes."""
    if not 0 < k < len(straights):
        return 0.0
    bend = abs(bend_rad(straights[k - 1], straights[k]))
    return 0.0 if bend >= HAIRPIN_RAD else float(radius[k] * np.tan(bend / 2))


def _corners(points: Array, straights: Sequence[Straight]) -> tuple[Array, Array]:
    """Where every straight begins and ends, were there no arcs (S, 2, 2), and the radius of the turn
    before it.

    Two straights meet where their lines cross; of those that hardly bend, or come back, at the points
    between.
    """
    ends = np.zeros((len(straights), 2, 2))
    radius = np.full(len(straights), USUAL_RADIUS_M)
    ends[0, 0], ends[-1, 1] = (
        foot_m(straights[0], points[straights[0].first]),
        foot_m(straights[-1], points[straights[-1].last]),
    )
    for k, (one, other) in enumerate(pairwise(straights), start=1):
        between = points[one.last : other.first + 1].mean(axis=0)
        bend = abs(bend_rad(one, other))
        corner = _crossing(one, other) if CROSSES_RAD < bend < HAIRPIN_RAD else between
        ends[k - 1, 1], ends[k, 0] = corner, corner
        if bend >= HAIRPIN_RAD:
            tip = points[(one.last + other.first) // 2]
            into, out = foot_m(one, tip), foot_m(other, tip)
            radius[k] = np.clip(np.hypot(*(out - into)) / 2, 4.0, 30.0)
            ends[k - 1, 1] = into - radius[k] * one.step_m / np.hypot(*one.step_m)
            ends[k, 0] = out + radius[k] * other.step_m / np.hypot(*other.step_m)
        elif bend < BOW_RAD:
            radius[k] = BOW_RADIUS_M
    return ends, radius


def foot_m(straight: Straight, point: Array) -> Array:
    """The point of a straight's line that is nearest."""
    unit = straight.step_m / np.hypot(*straight.step_m)
    return np.asarray(straight.middle_m + unit * (unit @ (point - straight.middle_m)))


def _crossing(one: Straight, other: Straight) -> Array:
    ways = np.stack([one.step_m, -other.step_m], axis=1)
    share = np.linalg.solve(ways, other.middle_m - one.middle_m)
    return np.asarray(one.middle_m + share[0] * one.step_m)
