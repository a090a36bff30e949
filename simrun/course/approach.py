"""How is a turn rounded off? Cuts before and after it, and the arc that is run.

Nobody runs up to a corner, pivots and runs on. A runner swings out by some of its room, touches the
inside in the middle of the turn and swings out again: one arc, tangent to both legs.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Gate, Side, Strip, with_cut_in

Array = NDArray[np.float64]

APPROACH_CUTS_M = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0)
"""Cuts are laid at these distances before and after a turn, where the ground beside is long enough."""


def with_approaches(strip: Strip) -> Strip:
    """The same course with close cuts before and after every turn, so that a rounded way can be laid."""
    strip = _with_ground_between_turns(strip)
    for index in range(len(strip.gates)):
        if strip.gates[index].kind == "turn":
            strip = _with_cuts_after(strip, strip.gates[index].last_cut)
            strip = _with_cuts_before(strip, strip.gates[index].first_cut)
    return strip


def _with_ground_between_turns(strip: Strip) -> Strip:
    """A cut in the middle of every straight that is one cell between two turns: it belongs to neither."""
    for index in range(len(strip.gates) - 1):
        one, other = strip.gates[index], strip.gates[index + 1]
        if one.kind == other.kind == "turn" and other.first_cut == one.last_cut + 1:
            strip = with_cut_in(strip, one.last_cut, 0.5)
    return strip


def _with_cuts_before(strip: Strip, cut: int) -> Strip:
    cell, length = cut - 1, _cell_length_m(strip, cut - 1)
    if cell < 0 or strip.bend_side[cell] != 0:
        return strip
    for away in sorted(APPROACH_CUTS_M):
        if away < length - 0.5:
            # The cell that is left shortens with every cut laid in it.
            left = _cell_length_m(strip, cell)
            strip = with_cut_in(strip, cell, 1 - (away - (length - left)) / left)
    return strip


def _with_cuts_after(strip: Strip, cut: int) -> Strip:
    length = _cell_length_m(strip, cut)
    if cut + 1 >= len(strip.station_m) or strip.bend_side[cut + 1] != 0:
        return strip
    for away in sorted(APPROACH_CUTS_M, reverse=True):
        if away < length - 0.5:
            strip = with_cut_in(strip, cut, away / _cell_length_m(strip, cut))
    return strip


def _cell_length_m(strip: Strip, cell: int) -> float:
    if not 0 <= cell < len(strip.station_m) - 1:
        return 0.0
    before, after = (strip.left_m[cell : cell + 2] + strip.right_m[cell : cell + 2]) / 2
    return float(np.hypot(*(after - before)))


def rounded_margins_m(
    strip: Strip, gate: Gate, apex_m: Array, room_m: float
) -> tuple[slice, Array]:
    """Which cuts does the rounded way through a turn cover, and how far off the inside is it there?

    apex_m (N,): own offset from the inside edge in the middle of the turn. With the turn's centre P, its
    inside radius r and c = cos(angle/2), the arc has the radius r + apex + q about P - q b, where b points
    from P to the apex and q = room c / (1 - c). Returns the cuts and the margins (N, cuts).
    Check: tests/unit/course/test_approach.py.
    """
    cuts = covered(strip, gate)
    inner = (strip.left_m if gate.inside == Side.LEFT else strip.right_m)[cuts]
    outer = (strip.right_m if gate.inside == Side.LEFT else strip.left_m)[cuts]
    outward = (outer - inner) / strip.width_m[cuts][:, None]
    first, last = gate.first_cut - cuts.start, gate.last_cut - cuts.start
    radius, half = strip.bend_radius_m[gate.first_cut], strip.bend_angle_rad[gate.first_cut] / 2
    cosine = max(np.cos(min(half, np.pi / 2)), 0.0)
    swing = room_m * cosine / (1 - cosine)
    turn_centre = inner[first] - outward[first] * radius
    bisector = outward[first] + outward[last]
    norm = np.hypot(*bisector)
    bisector = bisector / norm if norm > 1e-6 else outward[(first + last) // 2]
    centre = turn_centre - bisector * swing
    return cuts, _to_circle_m(
        inner - centre, outward, radius + apex_m + swing, apex_m, room_m * cosine
    )


def _to_circle_m(start: Array, outward: Array, radius: Array, apex: Array, room: float) -> Array:
    """How far is it from every start along its outward direction to the circles? (N, cuts)

    Never more than the legs' own offset apex + room, which is where the arc has ended.
    """
    along = (start * outward).sum(axis=1)
    off2 = (start * start).sum(axis=1) - along**2
    reach2 = radius[:, None] ** 2 - off2[None, :]
    to_circle = np.sqrt(np.maximum(reach2, 0.0)) - along[None, :]
    legs = (apex + room)[:, None]
    return np.clip(np.where(reach2 > 0, to_circle, legs), apex[:, None], legs)


def covered(strip: Strip, gate: Gate) -> slice:
    """The cuts of a turn with those laid before and after it."""
    most = max(APPROACH_CUTS_M) + 0.1
    first, last = gate.first_cut, gate.last_cut
    middle = strip.middle_m
    while first > 0 and np.hypot(*(middle[first - 1] - middle[gate.first_cut])) < most:
        if strip.bend_side[first - 1] != 0:
            break
        first -= 1
    while last < len(middle) - 1 and np.hypot(*(middle[last + 1] - middle[gate.last_cut])) < most:
        if strip.bend_side[last + 1] != 0:
            break
        last += 1
    return slice(first, last + 1)
