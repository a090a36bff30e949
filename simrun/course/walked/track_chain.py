"""Straights and arcs one after the other: where do they lead, and how does that move with their numbers?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

SAMPLE_M = 1.0
SOUGHT_M = 40.0
"""So far before and behind its place along the way the nearest point of the chain is looked for."""


@dataclass(frozen=True)
class Bit:
    """A straight (length) or an arc (bend_rad, positive to the left, and the radius of its middle)."""

    length_m: float = 0.0
    bend_rad: float = 0.0
    radius_m: float = 0.0

    @property
    def is_turn(self) -> bool:
        """Is it an arc?"""
        return self.bend_rad != 0

    @property
    def way_m(self) -> float:
        """How long is it?"""
        return abs(self.bend_rad) * self.radius_m if self.is_turn else self.length_m


@dataclass(frozen=True)
class Pose:
    """A place and a heading (x, y, angle), and how they move with every number, (3, Q)."""

    value: Array
    slope: Array

    def moved(self, bit: Bit, at: int) -> Pose:
        """Where the bit ends whose numbers stand at `at`."""
        x, y, angle = self.value
        slope = self.slope.copy()
        cosine, sine = np.cos(angle), np.sin(angle)
        if not bit.is_turn:
            way = bit.length_m * np.array([cosine, sine])
            slope[:2] += np.outer([-way[1], way[0]], self.slope[2])
            slope[:2, at] += [cosine, sine]
            return Pose(np.array([x + way[0], y + way[1], angle]), slope)
        side, end = np.sign(bit.bend_rad), angle + bit.bend_rad
        chord = side * np.array([np.sin(end) - sine, cosine - np.cos(end)])
        way = bit.radius_m * chord
        slope[:2] += np.outer([-way[1], way[0]], self.slope[2])
        slope[:2, at] += side * bit.radius_m * np.array([np.cos(end), np.sin(end)])
        slope[2, at] += 1.0
        slope[:2, at + 1] += chord
        return Pose(np.array([x + way[0], y + way[1], end]), slope)


@dataclass(frozen=True)
class Chain:
    """Bits laid from a first pose, and every pose between them (one more than bits).

    at (B,): where the numbers of every bit stand among all numbers.
    """

    bits: tuple[Bit, ...]
    at: tuple[int, ...]
    poses: tuple[Pose, ...]

    @property
    def length_m(self) -> float:
        """Metres along the middle."""
        return sum(bit.way_m for bit in self.bits)

    @property
    def begins_m(self) -> Array:
        """How far along does every bit begin, and the last one end, (B + 1,)?"""
        return np.append(0.0, np.cumsum([bit.way_m for bit in self.bits]))

    def points_at(self, along_m: Array) -> Array:
        """Points of the middle so many metres from the beginning, (P, 2); beyond the ends straight on."""
        begins = self.begins_m
        number = np.clip(np.searchsorted(begins, along_m, side="right") - 1, 0, len(self.bits) - 1)
        points = np.zeros((len(along_m), 2))
        for k, bit in enumerate(self.bits):
            here = number == k
            points[here] = _points_of(bit, self.poses[k].value, along_m[here] - begins[k])
        return points

    def nearest(self, points: Array, about_m: Array) -> tuple[Numbers, Array]:
        """Near which bit does every point lie, and how far along, looked for about `about_m`? (P,) twice."""
        count = max(2, int(self.length_m / SAMPLE_M) + 1)
        even = np.linspace(0.0, self.length_m, count)
        sample = self.points_at(even)
        step = even[1]
        window = np.arange(-int(SOUGHT_M / step), int(SOUGHT_M / step) + 1)
        number = np.clip(np.rint(about_m / step).astype(int)[:, None] + window, 0, count - 1)
        apart = ((sample[number] - points[:, None]) ** 2).sum(axis=2)
        # Of two places as near as one another that one counts which lies nearer along the way.
        apart += 0.02 * (even[number] - about_m[:, None]) ** 2
        along = even[number[np.arange(len(points)), apart.argmin(axis=1)]]
        bit = np.searchsorted(self.begins_m, along, side="right") - 1
        return np.clip(bit, 0, len(self.bits) - 1), along

    def beside(self, points: Array, bit: Numbers) -> tuple[Array, Array]:
        """How far to the left of its bit does every point lie, (P,), and how that moves, (P, Q)?"""
        found = np.zeros(len(points))
        slope = np.zeros((len(points), self.poses[0].slope.shape[1]))
        for k in np.unique(bit):
            here = bit == k
            found[here], slope[here] = self._beside(points[here], int(k))
        return found, slope

    def _beside(self, points: Array, k: int) -> tuple[Array, Array]:
        bit, pose = self.bits[k], self.poses[k]
        away = points - pose.value[:2]
        cosine, sine = np.cos(pose.value[2]), np.sin(pose.value[2])
        if not bit.is_turn:
            ahead = away @ [cosine, sine]
            moved = sine * pose.slope[0] - cosine * pose.slope[1]
            return away @ [-sine, cosine], moved - np.outer(ahead, pose.slope[2])
        side = np.sign(bit.bend_rad)
        inward = side * np.array([-sine, cosine])
        spoke = away - bit.radius_m * inward
        reach = np.maximum(np.hypot(*spoke.T), 1e-6)
        centre = pose.slope[:2].copy()
        centre += np.outer(bit.radius_m * side * np.array([-cosine, -sine]), pose.slope[2])
        centre[:, self.at[k] + 1] += inward
        slope = side * ((spoke / reach[:, None]) @ centre)
        slope[:, self.at[k] + 1] += side
        return side * (bit.radius_m - reach), slope


def chain_from(first: Pose, bits: tuple[Bit, ...], at: tuple[int, ...]) -> Chain:
    """These bits laid one after the other.

    Check: tests/unit/course/test_watch_chain.py (slopes by small differences, lengths and places by
    hand).
    """
    poses = [first]
    for bit, number in zip(bits, at, strict=True):
        poses.append(poses[-1].moved(bit, number))
    return Chain(bits, at, tuple(poses))


def _points_of(bit: Bit, pose: Array, along_m: Array) -> Array:
    x, y, angle = pose
    if not bit.is_turn:
        return np.stack([x + along_m * np.cos(angle), y + along_m * np.sin(angle)], axis=1)
    side = np.sign(bit.bend_rad)
    turned = angle + side * along_m / bit.radius_m
    reach = side * bit.radius_m
    return np.stack(
        [
            x + reach * (np.sin(turned) - np.sin(angle)),
            y - reach * (np.cos(turned) - np.cos(angle)),
        ],
        axis=1,
    )
