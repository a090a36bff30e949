"""Which straights and arcs fit a recorded way best, where laps close?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from simrun.course.walked.track_chain import Bit, Chain, Pose, chain_from
from simrun.course.walked.track_walk import EVEN_M

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

CLOSED_M = (100.0, 20.0, 5.0, 1.0, 0.3, 0.1, 0.03, 0.01, 0.003)
AS_FOUND = 2
"""So often the points stay with the bits that they were found for."""

"""So near a lap must come to its beginning, more nearly every time that the points are put to their
nearest bits anew: held at once, a turn could not be moved by a degree without a step the lap forbids."""

WANDERS_OVER_M = 80.0
"""Over so much of the way the error of a watch stays much the same: 20 s of running (assumed)."""

USUAL_RADIUS_M, BOW_RADIUS_M, RADIUS_SPREAD = 12.0, 60.0, 0.7
"""The middle of a turn is mostly so tight, that of a slight bend less, give or take a factor of two
(assumed)."""

BOW_RAD = float(np.deg2rad(30))

LEAST_STRAIGHT_M, TIGHTEST_M, WIDEST_RADIUS_M = 2.5, 3.5, 120.0
LEVER_M = 100.0
MOST_STEPS = 25
FOUND_M, FOUND_RAD = 10.0, 0.1
"""How well lengths and bends are known from the steps alone (assumed)."""

MOST_BEND_RAD = float(np.deg2rad(200))
LEAST_BEND_RAD = float(np.deg2rad(5))


@dataclass(frozen=True)
class Seen:
    """Points that somebody passed in their order, (P, 2): about how far along the chain, (P,), and how
    much each counts, (P,). after_lap: do they belong to what follows the last lap?"""

    points_m: Array
    about_m: Array
    weight: Array
    after_lap: bool = False


@dataclass(frozen=True)
class Plan:
    """How the bits hang together: `bits` from the start to the end of the first lap, `rest` after the
    last.

    lap_at: the bit with which the lap begins, None where there is no lap. rest_from: the bit behind whose
    end the rest goes on (with a lap; -1: where the lap begins).
    """

    bits: tuple[Bit, ...]
    rest: tuple[Bit, ...] = ()
    lap_at: int | None = None
    rest_from: int = -1


@dataclass(frozen=True)
class Fitted:
    """The chains as they fit best, and the points of the walk along them in the same order."""

    chain: Chain
    rest: Chain | None
    along_m: tuple[Array, ...]


class Fit:
    """The numbers of a plan, and how well they fit what was seen.

    Formula: least squares of the distances beside the chain, made independent of one another as errors
    that wander over WANDERS_OVER_M are, with the lap's end held to its beginning. Check:
    tests/unit/course/test_watch_course.py.
    """

    def __init__(self, plan: Plan, first: Array, seen: tuple[Seen, ...], spread_m: float) -> None:
        self.plan, self.seen, self.spread_m = plan, seen, spread_m
        self.at, count = _places(plan)
        self.count = count
        self.start = np.zeros(count)
        self.start[:3] = first
        for bit, at in zip(plan.bits + plan.rest, self.at, strict=True):
            self.start[at] = bit.bend_rad if bit.is_turn else bit.length_m
            if bit.is_turn:
                self.start[at + 1] = bit.radius_m

    def fitted(self, found_m: tuple[Array, Array], tightest_m: Mapping[int, float]) -> Fitted:
        """The best numbers; no middle of a turn is tighter than asked.

        found_m: where the bits of the chain and of the rest begin, and the last one ends, as `about_m`
        counts.
        """
        low, high = self._bounds(tightest_m)
        numbers = np.clip(self.start, low, high)
        about = [seen.about_m for seen in self.seen]
        begins = list(found_m)
        for turn, closed_m in enumerate(CLOSED_M):
            chains = self._chains(numbers)
            bits = []
            for k, seen in enumerate(self.seen):
                which = 1 if seen.after_lap and chains[1] else 0
                chain = chains[which]
                assert chain is not None
                here = np.interp(about[k], begins[which], chain.begins_m)
                if turn < AS_FOUND:
                    bit = np.searchsorted(chain.begins_m, here, side="right") - 1
                    bits.append(np.clip(bit, 0, len(chain.bits) - 1))
                else:
                    bit, here = chain.nearest(seen.points_m, here)
                    bits.append(bit)
                    here = np.maximum.accumulate(here)
                about[k] = here
            begins = [chain.begins_m if chain else np.zeros(1) for chain in chains]
            numbers = _least(
                partial(self._misfit, bits=bits, closed_m=closed_m), numbers, (low, high)
            )
        chain, rest = self._chains(numbers)
        return Fitted(chain, rest, tuple(about))

    def _bounds(self, tightest_m: Mapping[int, float]) -> tuple[Array, Array]:
        low, high, turn = np.full(self.count, -np.inf), np.full(self.count, np.inf), 0
        for bit, at in zip(self.plan.bits + self.plan.rest, self.at, strict=True):
            if bit.is_turn:
                side = np.sign(bit.bend_rad)
                ends = side * LEAST_BEND_RAD, side * MOST_BEND_RAD
                low[at], high[at] = min(ends), max(ends)
                low[at + 1], high[at + 1] = (
                    max(TIGHTEST_M, tightest_m.get(turn, 0.0)),
                    WIDEST_RADIUS_M,
                )
                turn += 1
            else:
                low[at], high[at] = LEAST_STRAIGHT_M, 20000.0
        return low, high

    def _chains(self, numbers: Array) -> tuple[Chain, Chain | None]:
        slope = np.zeros((3, self.count))
        slope[[0, 1, 2], [0, 1, 2]] = 1.0
        size = len(self.plan.bits)
        bits = [
            Bit(bend_rad=numbers[at], radius_m=numbers[at + 1]) if bit.is_turn else Bit(numbers[at])
            for bit, at in zip(self.plan.bits + self.plan.rest, self.at, strict=True)
        ]
        chain = chain_from(Pose(numbers[:3], slope), tuple(bits[:size]), self.at[:size])
        if not self.plan.rest:
            return chain, None
        after = self.plan.rest_from + 1 if self.plan.rest_from >= 0 else self.plan.lap_at or 0
        return chain, chain_from(chain.poses[after], tuple(bits[size:]), self.at[size:])

    def _misfit(self, numbers: Array, bits: list[Numbers], closed_m: float) -> tuple[Array, Array]:
        chain, rest = self._chains(numbers)
        rows = [
            _independent(
                *(rest if seen.after_lap and rest else chain).beside(seen.points_m, near), seen
            )
            for seen, near in zip(self.seen, bits, strict=True)
        ]
        rows = [(value / self.spread_m, slope / self.spread_m) for value, slope in rows]
        rows += [
            *self._radii(numbers),
            self._as_begun(numbers),
            *self._ends(chain, rest),
            *self._closed(chain, closed_m),
        ]
        return np.concatenate([row[0] for row in rows]), np.vstack([row[1] for row in rows])

    def _radii(self, numbers: Array) -> list[tuple[Array, Array]]:
        rows = []
        for bit, at in zip(self.plan.bits + self.plan.rest, self.at, strict=True):
            if bit.is_turn:
                usual = USUAL_RADIUS_M if abs(bit.bend_rad) > BOW_RAD else BOW_RADIUS_M
                slope = np.zeros((1, self.count))
                slope[0, at + 1] = 1 / (numbers[at + 1] * RADIUS_SPREAD)
                rows.append((np.log(numbers[[at + 1]] / usual) / RADIUS_SPREAD, slope))
        return rows

    def _as_begun(self, numbers: Array) -> tuple[Array, Array]:
        """Lengths and bends stay about what they were found to be: points near a turn have no clear bit."""
        spread = np.full(self.count, np.inf)
        for bit, at in zip(self.plan.bits + self.plan.rest, self.at, strict=True):
            spread[at] = FOUND_RAD if bit.is_turn else FOUND_M
        return (numbers - self.start) / spread, np.diag(1 / spread)

    def _ends(self, chain: Chain, rest: Chain | None) -> list[tuple[Array, Array]]:
        """The start and the finish lie where the way begins and ends."""
        first, last = chain.poses[0], (rest or chain).poses[-1]
        return [
            _along(first, self.seen[0].points_m[0], self.spread_m),
            _along(last, self.seen[-1].points_m[-1], self.spread_m),
        ]

    def _closed(self, chain: Chain, closed_m: float) -> list[tuple[Array, Array]]:
        if self.plan.lap_at is None:
            return []
        begin, end = chain.poses[self.plan.lap_at], chain.poses[-1]
        value, slope = end.value - begin.value, end.slope - begin.slope
        value[2] = (value[2] + np.pi) % (2 * np.pi) - np.pi
        weight = np.array([1.0, 1.0, LEVER_M]) / closed_m
        return [(value * weight, slope * weight[:, None])]


def _least(
    misfit: Callable[[Array], tuple[Array, Array]], numbers: Array, bounds: tuple[Array, Array]
) -> Array:
    """The numbers within their bounds that make the sum of squares smallest (Levenberg and Marquardt).

    A number at its bound that would leave it stays there for this step.
    """
    damp, (value, slope) = 1e-3, misfit(numbers)
    for _ in range(MOST_STEPS):
        pull = slope.T @ value
        free = ~((numbers <= bounds[0]) & (pull > 0) | (numbers >= bounds[1]) & (pull < 0))
        square = slope[:, free].T @ slope[:, free]
        step = np.zeros(len(numbers))
        step[free] = -np.linalg.solve(square + damp * np.diag(np.diag(square)), pull[free])
        tried = np.clip(numbers + step, *bounds)
        found = misfit(tried)
        gain = value @ value - found[0] @ found[0]
        if gain > 0:
            small = gain < 1e-4 * (value @ value)
            numbers, (value, slope), damp = tried, found, damp / 5
            if small:
                break
        else:
            damp *= 5
            if damp > 1e6:
                break
    return numbers


def _places(plan: Plan) -> tuple[tuple[int, ...], int]:
    """Where the numbers of every bit stand, and how many numbers there are."""
    at, count = [], 3
    for bit in plan.bits + plan.rest:
        at.append(count)
        count += 2 if bit.is_turn else 1
    return tuple(at), count


def _along(pose: Pose, point: Array, spread_m: float) -> tuple[Array, Array]:
    cosine, sine = np.cos(pose.value[2]), np.sin(pose.value[2])
    away = pose.value[:2] - point
    slope = cosine * pose.slope[0] + sine * pose.slope[1]
    slope += (-sine * away[0] + cosine * away[1]) * pose.slope[2]
    return np.array([away @ [cosine, sine]]) / spread_m, slope[None] / spread_m


def _independent(value: Array, slope: Array, seen: Seen) -> tuple[Array, Array]:
    """Distances whose errors wander, made independent of one another."""
    keep = np.exp(-EVEN_M / WANDERS_OVER_M)
    root = np.sqrt(seen.weight)
    scale = root / np.append(1.0, np.full(len(value) - 1, np.sqrt(1 - keep**2)))
    before = np.vstack([np.zeros(slope.shape[1]), keep * slope[:-1]])
    return (
        (value - np.append(0.0, keep * value[:-1])) * scale,
        (slope - before) * scale[:, None],
    )
