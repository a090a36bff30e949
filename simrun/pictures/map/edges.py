"""Which lines are drawn along the course? Both edges by their kind, each piece of ground once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import EdgeKind, Strip

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

Dashes = str | tuple[float, tuple[float, ...]]
"""No dashes at all, or where they begin and how long each is, in widths of the line."""

_STYLES: dict[EdgeKind, tuple[str, float, Dashes]] = {
    EdgeKind.BARRIER: ("barrier", 3.2, "solid"),
    EdgeKind.MARKED: ("marked", 2.0, (0, (3.0, 2.2))),
}

_FAINT: tuple[str, float, Dashes] = ("line", 0.8, (0, (2.0, 3.0)))
"""An edge that runs across another part of the course: of use only to who comes that way."""

_INSIDE_M = 0.25
"""So deep inside another cell an edge counts as running across it."""

PIECE_M = 3.0
"""Edges are looked at in pieces no longer than this."""

_SAME_M = 0.02

_POST_M = 0.3
"""A barrier about one point, the inside of a sharp turn, is drawn as a post of this radius."""


@dataclass(frozen=True)
class Stroke:
    """A line of the ground: points (P, 2), ink, width in pixels, dashes."""

    points_m: Array
    ink: str
    width_px: float
    dashes: Dashes = "solid"


def edge_strokes(strip: Strip) -> list[Stroke]:
    """Both edges, cut where their kind changes; an open edge is no line at all."""
    strokes: list[Stroke] = []
    cells = np.stack(
        [strip.left_m[:-1], strip.left_m[1:], strip.right_m[1:], strip.right_m[:-1]], axis=1
    )
    for edge, edge_kinds in ((strip.left_m, strip.left_edge), (strip.right_m, strip.right_edge)):
        points, kinds = _short_pieces(edge, edge_kinds)
        again, across = _drawn_before(points), _across(points, cells)
        style = np.where(again, -1, np.where(across & (kinds != EdgeKind.OPEN), 9, kinds))
        for part in np.split(np.arange(len(style)), np.flatnonzero(np.diff(style)) + 1):
            line = points[part[0] : part[-1] + 2]
            strokes += _stroke(line, int(style[part[0]]))
    return strokes


def _stroke(line: Array, style: int) -> list[Stroke]:
    if style == 9:
        return [Stroke(line, *_FAINT)]
    if style not in _STYLES:
        return []
    if style == EdgeKind.BARRIER and np.ptp(line, axis=0).max() < _SAME_M:
        return [Stroke(around(line[0], _POST_M), *_STYLES[EdgeKind.BARRIER])]
    return [Stroke(line, *_STYLES[EdgeKind(style)])]


def around(middle_m: Array, radius_m: float) -> Array:
    """A round line, (25, 2)."""
    turn = np.linspace(0, 2 * np.pi, 25)
    return np.asarray(middle_m) + radius_m * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def _short_pieces(points: Array, kinds: NDArray[np.int8]) -> tuple[Array, NDArray[np.int8]]:
    """The same edge in pieces of at most PIECE_M, and the kind of each."""
    length = np.hypot(*np.diff(points, axis=0).T)
    counts = np.maximum(1, np.ceil(length / PIECE_M)).astype(int)
    along = np.concatenate([[0.0], np.cumsum(1 / np.repeat(counts, counts))])
    cuts = np.arange(len(points), dtype=float)
    fine = np.stack([np.interp(along, cuts, points[:, axis]) for axis in (0, 1)], axis=1)
    return fine, np.repeat(kinds, counts)


def _drawn_before(points: Array) -> Mask:
    """Which pieces of an edge lie on an earlier piece, as on a second lap? (K-1,)"""
    begin, step = points[:-1], np.diff(points, axis=0)
    middle, length2 = begin + step / 2, np.maximum((step**2).sum(axis=1), 1e-12)
    found = np.zeros(len(step), dtype=bool)
    for piece in range(2, len(step)):
        away = middle[piece] - begin[: piece - 1]
        share = np.clip((away * step[: piece - 1]).sum(axis=1) / length2[: piece - 1], 0, 1)
        gap = away - share[:, None] * step[: piece - 1]
        long = length2[: piece - 1] > _SAME_M**2
        found[piece] = bool(((gap**2).sum(axis=1) < _SAME_M**2)[long].any())
    return found & (length2 > _SAME_M**2)


def _across(points: Array, cells: Array) -> Mask:
    """Which pieces of an edge lie deep inside a cell of the course? (P-1,)"""
    middle = (points[:-1] + points[1:]) / 2
    low, high = cells.min(axis=1) + _INSIDE_M, cells.max(axis=1) - _INSIDE_M
    found = np.zeros(len(middle), dtype=bool)
    for piece, point in enumerate(middle):
        near = np.flatnonzero(((point > low) & (point < high)).all(axis=1))
        found[piece] = any(_deep_inside(point, cells[cell]) for cell in near)
    return found


def _deep_inside(point: Array, cell: Array) -> bool:
    """Is a point deep inside a cell (4, 2) whose corners go round clockwise?"""
    side = np.roll(cell, -1, axis=0) - cell
    length = np.hypot(side[:, 0], side[:, 1])
    away = point - cell
    depth = (side[:, 1] * away[:, 0] - side[:, 0] * away[:, 1])[length > 1e-6]
    return bool((depth / length[length > 1e-6] > _INSIDE_M).all())
