"""A centre line and a width: where do the cross-cuts lie?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.course.drawing.drawn_features import refuse
from simrun.course.drawing.ribbon import (
    LARGEST_TURN_DEG,
    LONGEST_CELL_M,
    Ribbon,
    crossed_cell,
    thinned,
)

Array = NDArray[np.float64]

FAN_FROM_DEG = 12.0
"""A larger angle of the centre line becomes a fan of cuts about the inner corner; at a smaller one
the cut lies on the bisector."""


def lay_along(centre_m: Array, width_m: Array, kept: NDArray[np.int64], label: str) -> Ribbon:
    """Which cuts lie along a centre line (A, 2) with a width at every point (A,)?

    The width is kept round every corner: the outer edge is an arc about the inner corner. Raises
    BadInput, naming `label`, where a turn is tighter than the width allows. left_at and right_at of
    the answer are numbers of centre points with a share; `kept` as in ribbon.join_edges.
    Formula: a corner of angle a uses up (width / 2) tan(a / 2) of the lines on both sides of it.
    Check: tests/unit/course/test_drawn.py (area and length of a bend in closed form).
    """
    ahead = np.diff(centre_m, axis=0)
    length = np.hypot(*ahead.T)
    ahead /= length[:, None]
    turn = _turns_rad(ahead)
    _check_room(width_m, turn, length, label)
    left, right, at = [], [], []
    for k, point in enumerate(centre_m):
        before, after = ahead[max(k - 1, 0)], ahead[min(k, len(ahead) - 1)]
        ends = _cuts_at(point, width_m[k], before, after, turn[k])
        left.append(ends[0])
        right.append(ends[1])
        at.append(np.full(len(ends[0]), float(k)))
    ribbon = _with_long_cells_cut(np.vstack(left), np.vstack(right), np.concatenate(at))
    crossed = crossed_cell(ribbon.left_m, ribbon.right_m)
    if crossed >= 0:
        found = f"the width changes too fast near point {int(ribbon.left_at[crossed]) + 1}"
        refuse(label, found, "cross-cuts that do not cross: change it over more metres")
    return thinned(ribbon, np.isin(ribbon.left_at, kept), ribbon.left_at % 1 == 0)


def _turns_rad(ahead: Array) -> Array:
    """By how much does the line turn at every point, left positive, zero at its ends? (A,)"""
    before, after = ahead[:-1], ahead[1:]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.concatenate([[0.0], np.arctan2(cross, (before * after).sum(axis=1)), [0.0]])


def _check_room(width_m: Array, turn: Array, length_m: Array, label: str) -> None:
    used = width_m / 2 * np.abs(np.tan(turn / 2))
    short = np.flatnonzero(used[:-1] + used[1:] > length_m + 1e-9)
    if len(short):
        k = int(short[0])
        needs = f"{length_m[k]:.1f} m to the next point, {used[k] + used[k + 1]:.1f} m needed"
        found = f"a turn tighter than its width allows near point {k + 1} ({needs})"
        refuse(label, found, "a narrower course, or a rounder bend")


def _cuts_at(
    point: Array, width: float, before: Array, after: Array, turn: float
) -> tuple[Array, Array]:
    """The cuts at one point: one on the bisector, or a fan about the inner corner."""
    to_left = (before + after) @ np.array([[0.0, 1.0], [-1.0, 0.0]])
    to_left = to_left / np.hypot(*to_left)
    reach = to_left * (width / 2 / np.cos(turn / 2))
    if abs(turn) <= np.deg2rad(FAN_FROM_DEG):
        return (point + reach)[None], (point - reach)[None]
    inward = np.sign(turn)
    inner = point + reach * inward
    ribs = int(np.ceil(abs(turn) / np.deg2rad(LARGEST_TURN_DEG) - 1e-9)) + 1
    angle = np.linspace(-turn / 2, turn / 2, ribs)
    outward = -inward * to_left
    outer = inner + width * np.stack(
        [
            np.cos(angle) * outward[0] - np.sin(angle) * outward[1],
            np.sin(angle) * outward[0] + np.cos(angle) * outward[1],
        ],
        axis=1,
    )
    inner = np.repeat(inner[None], ribs, axis=0)
    return (inner, outer) if turn > 0 else (outer, inner)


def _with_long_cells_cut(left: Array, right: Array, at: Array) -> Ribbon:
    """The same cuts, with more of them where a cell would be longer than 30 m."""
    longest = np.maximum(np.hypot(*np.diff(left, axis=0).T), np.hypot(*np.diff(right, axis=0).T))
    parts = np.maximum(1, np.ceil(longest / LONGEST_CELL_M - 1e-9)).astype(int)
    cell = np.repeat(np.arange(len(parts)), parts)
    share = (np.arange(parts.sum()) - np.repeat(np.cumsum(parts) - parts, parts)) / parts[cell]
    where = np.append(cell + share, float(len(parts)))
    number = np.arange(len(left), dtype=float)
    rows = (left[:, 0], left[:, 1], right[:, 0], right[:, 1], at)
    lx, ly, rx, ry, new_at = (np.interp(where, number, row) for row in rows)
    return Ribbon(np.stack([lx, ly], axis=1), np.stack([rx, ry], axis=1), new_at, new_at)
