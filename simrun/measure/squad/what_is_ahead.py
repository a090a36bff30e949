"""What does the ground look like from one place to the next?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import EdgeKind, Gate, Strip

CLOSES_SHARE = 0.75
"""Ground closes down, or opens, where it changes to less than this share of the wider (assumed)."""

TIGHT_M = 4.0
"""A bend about a smaller radius than this is tight (assumed)."""


@dataclass(frozen=True)
class Bend:
    """A named turn: its side, -1 left and 1 right, degrees turned, inside radius, metres from here."""

    name: str
    side: int
    angle_deg: float
    radius_m: float
    in_m: float

    @property
    def is_tight(self) -> bool:
        """Must one slow down for it?"""
        return self.radius_m < TIGHT_M


@dataclass(frozen=True)
class Ahead:
    """The ground between two places. width_m: here; narrowest_m, widest_m and how far on each is.

    barrier_left, barrier_right: does a wall or fence stand there all the way? climb_m: end less beginning.
    """

    width_m: float
    narrowest_m: float
    narrowest_in_m: float
    widest_m: float
    bends: tuple[Bend, ...]
    climb_m: float
    barrier_left: bool
    barrier_right: bool

    @property
    def closes(self) -> bool:
        """Does it become clearly narrower than here?"""
        return self.narrowest_m < CLOSES_SHARE * self.width_m

    @property
    def opens(self) -> bool:
        """Does it become clearly wider than here, and never narrower?"""
        return not self.closes and self.width_m < CLOSES_SHARE * self.widest_m


def what_is_ahead(strip: Strip, from_m: float, to_m: float) -> Ahead:
    """Width, bends, climb and barriers from one place to another; a bend counts where it begins.

    Check: tests/unit/measure/test_squad.py (a drawn course told back).
    """
    at = strip.station_m
    inner = at[(at > from_m) & (at < to_m)]
    here = np.concatenate([[from_m], inner, [to_m]])
    wide = np.interp(here, at, strip.width_m)
    least = int(wide.argmin())
    low, high = np.interp([from_m, to_m], at, strip.height_m)
    cells = (at[1:] > from_m) & (at[:-1] < to_m)
    return Ahead(
        float(wide[0]),
        float(wide[least]),
        float(here[least] - from_m),
        float(wide.max()),
        tuple(_bend(strip, gate, from_m) for gate in _turns(strip, from_m, to_m)),
        float(high - low),
        _is_barrier(strip.left_edge[cells]),
        _is_barrier(strip.right_edge[cells]),
    )


def _turns(strip: Strip, from_m: float, to_m: float) -> list[Gate]:
    return [
        gate
        for gate in strip.gates
        if gate.kind == "turn" and from_m - 1.0 <= strip.station_m[gate.first_cut] < to_m - 1.0
    ]


def _bend(strip: Strip, gate: Gate, from_m: float) -> Bend:
    cuts = slice(gate.first_cut, gate.last_cut + 1)
    angle = float(np.degrees(np.abs(strip.bend_angle_rad[cuts]).max()))
    radius = float(np.min(strip.bend_radius_m[cuts]))
    in_m = max(0.0, float(strip.station_m[gate.first_cut]) - from_m)
    return Bend(gate.name, int(gate.inside), angle, radius, in_m)


def _is_barrier(kinds: NDArray[np.int8]) -> bool:
    return bool(len(kinds)) and bool((kinds == EdgeKind.BARRIER).all())
