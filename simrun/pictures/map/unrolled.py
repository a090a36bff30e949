"""The course unrolled: a straight ribbon, along to the right and across from left (up) to right (down).

The one drawing in which a boardwalk for two can be read as well as a start field of sixty metres, and in
which inside and outside of a bend are up and down.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simrun.course.strip import EdgeKind, Side, Strip
from simrun.pictures.ink.lettering import plain

Array = NDArray[np.float64]

LEAST_PX, MOST_PX = 40.0, 62.0
"""The course is drawn never narrower and never wider than that, in pixels of the usual picture."""

LEAST_M, MOST_M = 2.0, 60.0
"""Widths of the ground at which it is drawn so wide; between them by their logarithm."""

ALONG_PX_M = 6.0
"""So many pixels a metre along, while those followed fit."""

FITS_SHARE = 0.86
"""Those followed take at most so much of a window; who is farther apart gets a second window."""


@dataclass(frozen=True)
class Piece:
    """A window of the ribbon: its left column, its width in pixels, first metre, and pixels a metre."""

    left_px: int
    width_px: int
    from_m: float
    px_m: float

    def columns(self, station_m: Array) -> Array:
        """In which column of the picture is a place? nan outside the window."""
        x = (np.asarray(station_m, dtype=float) - self.from_m) * self.px_m
        return np.where((x >= 0) & (x < self.width_px), x + self.left_px, np.nan)


@dataclass(frozen=True)
class Mark:
    """A named place of the ribbon, and whether a line lies across it."""

    name: str
    station_m: float
    line: bool


def share_across(strip: Strip, position_m: NDArray[Any], station_m: Array) -> Array:
    """Where across the course is everybody? 0 the left edge, 1 the right; places (..., 2), (...) metres.

    Check: tests/unit/pictures/test_unrolled.py.
    """
    edges = [
        np.stack([np.interp(station_m, strip.station_m, edge[:, k]) for k in (0, 1)], axis=-1)
        for edge in (strip.left_m, strip.right_m)
    ]
    across = edges[1] - edges[0]
    away = np.asarray(position_m, dtype=float) - edges[0]
    return np.asarray((away * across).sum(axis=-1) / np.maximum((across**2).sum(axis=-1), 1e-9))


def along_and_across(strip: Strip, position_m: NDArray[np.float32]) -> tuple[Array, Array]:
    """Metres along the measured line and share across, (T, N) each; nan for who has left."""
    from simrun.course.station import progress_m

    station = progress_m(strip, position_m)
    return station, share_across(strip, position_m, station)


def drawn_width(width_m: ArrayLike) -> Array:
    """How wide is ground of this width drawn? In pixels of the usual picture."""
    share = np.log(np.asarray(width_m) / LEAST_M) / np.log(MOST_M / LEAST_M)
    return LEAST_PX + (MOST_PX - LEAST_PX) * np.clip(share, 0.0, 1.0)


def pieces(
    station_m: Array, apart: bool, width_px: int, usual_px_m: float, between_px: int
) -> list[Piece]:
    """The window around those at station_m (M,), or two where they are far apart, the ones behind first."""
    here = np.sort(station_m[np.isfinite(station_m)])
    if not len(here):
        here = np.zeros(1)
    if not apart or len(here) < 2:
        return [_piece(here, 0, width_px, usual_px_m)]
    cut = int(np.diff(here).argmax()) + 1
    half = (width_px - between_px) // 2
    behind = _piece(here[:cut], 0, half, usual_px_m)
    ahead = _piece(here[cut:], width_px - half, half, usual_px_m)
    # Nobody is shown twice: where the two would meet, one that is drawn smaller will do.
    meet = behind.from_m + behind.width_px / behind.px_m > ahead.from_m
    return [_piece(here, 0, width_px, usual_px_m)] if meet else [behind, ahead]


def _piece(here: Array, left_px: int, width_px: int, usual_px_m: float) -> Piece:
    px_m = min(usual_px_m, FITS_SHARE * width_px / max(float(np.ptp(here)), 1e-9))
    middle = float(here[0] + here[-1]) / 2
    return Piece(left_px, width_px, middle - width_px / 2 / px_m, px_m)


def far_apart(station_m: Array, width_px: int, usual_px_m: float, hold: int) -> NDArray[np.bool_]:
    """In which frames do those at (F, M) not fit into one window? (F,), no change for less than `hold`."""
    from scipy.ndimage import maximum_filter1d

    known = np.isfinite(station_m)
    low = np.where(known, station_m, np.inf).min(axis=1)
    high = np.where(known, station_m, -np.inf).max(axis=1)
    wide = np.where(known.any(axis=1), high - low, 0.0) * usual_px_m > FITS_SHARE * width_px
    return np.asarray(maximum_filter1d(wide.astype(np.uint8), 2 * hold + 1, mode="nearest") > 0)


def edge_at(strip: Strip, edge: NDArray[np.int8], station_m: NDArray[Any]) -> NDArray[np.int8]:
    """The kind of an edge at these places; open before the line and behind the last cut."""
    cell = np.searchsorted(strip.station_m, station_m, side="right") - 1
    inside = (cell >= 0) & (cell < len(edge))
    return np.where(inside, edge[np.clip(cell, 0, len(edge) - 1)], EdgeKind.OPEN).astype(np.int8)


def marks_of(strip: Strip) -> list[Mark]:
    """The named places in order; of a turn also which side is inside: up is left."""
    found = [Mark("start", 0.0, True), Mark("finish", strip.length_m, True)]
    for gate in strip.gates:
        at = float(strip.station_m[[gate.first_cut, gate.last_cut]].mean())
        inside = {Side.LEFT: ": inside is up", Side.RIGHT: ": inside is down"}
        words = inside.get(gate.inside, "") if gate.kind == "turn" else ""
        found.append(Mark(plain(gate.name) + words, at, False))
    found += [Mark(plain(mark.name), mark.station_m, True) for mark in strip.checkpoints]
    found += [Mark(plain(mark.name), mark.station_m, False) for mark in strip.landmarks]
    return sorted(found, key=lambda mark: mark.station_m)
