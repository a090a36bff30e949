"""From the strip to the records the kernel reads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.course.string import fill_cuts
from simrun.course.strip import EdgeKind, Strip
from simrun.laws.slope import slope_share
from simrun.laws.wake import wind_share
from simrun.sources import figure
from simrun.state.arrays import CUT, Records

Array = NDArray[np.float64]

OPEN_REACH_M = 1.0
"""How far over an open edge a runner may stray (assumed): the line of flags is still beside."""

RUNNING_M_S = 5.0
"""The level pace at which a wind is reckoned for everybody (assumed)."""


def ground_of(strip: Strip) -> Records:
    """The kernel's view of the course: one record a cut, (K,). Nobody writes to it: it is laid once a strip,
    for all races on it."""
    kept = vars(strip)
    if "_ground" not in kept:
        kept["_ground"] = _laid(strip)
    ground: Records = kept["_ground"]
    return ground


def _laid(strip: Strip) -> Records:
    ground = np.zeros(len(strip.station_m), dtype=CUT).view(np.recarray)
    fill_cuts(ground, strip.left_m, strip.right_m)
    ground["station_m"] = strip.station_m
    ground["pace_share"][:-1] = strip.footing * slope_shares(strip)
    if strip.day_footing != 1.0:
        ground["pace_share"] *= strip.day_footing
    if any(strip.wind_m_s):
        ground["headwind_m_s"][:-1] = strip.headwind_m_s
        ground["pace_share"][:-1] *= wind_shares(ground)
    ground["left_barrier"][:-1] = strip.left_edge == EdgeKind.BARRIER
    ground["right_barrier"][:-1] = strip.right_edge == EdgeKind.BARRIER
    ground["left_reach_m"][:-1] = reach_m(strip.left_edge, strip.left_m, ground, inward=1.0)
    ground["right_reach_m"][:-1] = reach_m(strip.right_edge, strip.right_m, ground, inward=-1.0)
    ground["bend_side"] = strip.bend_side
    ground["bend_radius_m"] = strip.bend_radius_m
    ground["bend_half_cosine"] = np.cos(np.minimum(strip.bend_angle_rad, np.pi) / 2)
    ground["next_bend"] = next_bends(strip)
    ground["checkpoint"] = -1
    ground["checkpoint"][strip.checkpoint_cuts()] = np.arange(len(strip.checkpoints))
    return ground


def reach_m(kind: NDArray[np.int8], edge_m: Array, ground: Records, inward: float) -> Array:
    """By how much may a centre pass this edge in every cell? (K-1,): nothing but where it is open.

    And nothing where an open edge comes in faster than it goes on, at the mouth of a trail say: that is a
    front, not a side, and who had strayed over it would be dragged in sideways, through others.
    """
    step = np.diff(edge_m, axis=0)
    unit_x, unit_y = ground["unit_x"][:-1], ground["unit_y"][:-1]
    comes_in = inward * (step[:, 0] * unit_x + step[:, 1] * unit_y)
    goes_on = step[:, 1] * unit_x - step[:, 0] * unit_y
    return np.where((kind == EdgeKind.OPEN) & (comes_in <= goes_on), OPEN_REACH_M, 0.0)


def slope_shares(strip: Strip) -> Array:
    """The share of the level speed that the slope of every cell leaves at equal power: (K-1,)."""
    cap = figure("slope.downhill_cap").value
    length = np.maximum(np.diff(strip.station_m), 1e-6)
    slope = np.diff(strip.height_m) / length
    return np.array([slope_share(float(value), cap) for value in slope])


def wind_shares(ground: Records) -> Array:
    """The share of the speed that the wind leaves in every cell: (K-1,), at RUNNING_M_S on the level."""
    air, at = figure("wake.air_share").value, figure("wake.air_speed_m_s").value
    return np.array(
        [
            wind_share(RUNNING_M_S, float(cut["pace_share"]), float(cut["headwind_m_s"]), air, at)
            for cut in ground[:-1]
        ]
    )


def next_bends(strip: Strip) -> NDArray[np.int64]:
    """The next cut at which a bend begins or changes, seen from every cut: (K,), K where none is."""
    count = len(strip.station_m)
    bend = np.stack([strip.bend_side, strip.bend_radius_m, strip.bend_angle_rad])
    changes = np.concatenate([[False], (bend[:, 1:] != bend[:, :-1]).any(axis=0)])
    begins = np.flatnonzero(changes & (strip.bend_side != 0))
    after = np.searchsorted(begins, np.arange(count), side="right")
    return np.append(begins, count)[after]
