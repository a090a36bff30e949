"""The unrolled course under the map of a film, around those whom the camera follows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import EdgeKind, Strip
from simrun.pictures.ink.colours import Indices, ink
from simrun.pictures.ink.lettering import clipped, lettered
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.stamps import BORDER_PX, look, put_levels, put_numbered, put_runners
from simrun.pictures.map.unrolled import (
    ALONG_PX_M,
    Mark,
    Piece,
    along_and_across,
    drawn_width,
    edge_at,
    far_apart,
    marks_of,
    pieces,
)
from simrun.pictures.story.moments import Moments
from simrun.state.recording import Recording

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

HOLD_FRAMES = 15
"""A second window stays at least so long."""

DOT_PX_M = 5.0
"""Runners look as at this zoom of the map."""

_DASH_M = 2.0


@dataclass(frozen=True)
class RibbonPart:
    """Draws the ribbon of any drawn moment. theirs (N,): around whom; numbered: by their rows."""

    recording: Recording
    moments: Moments
    theirs: Mask
    layout: Layout
    width_px: int
    numbered: NDArray[np.int64]

    @property
    def strip(self) -> Strip:
        """The course."""
        return self.recording.strip

    @cached_property
    def _where(self) -> tuple[Array, Array]:
        """Metres along and share across at the drawn moments, (F, N) each."""
        along, across = along_and_across(self.strip, self.recording.position_m)
        return self.moments.between(along), self.moments.between(across)

    @cached_property
    def _marks(self) -> list[Mark]:
        return marks_of(self.strip)

    @property
    def _px_m(self) -> float:
        return ALONG_PX_M * self.layout.scale

    @cached_property
    def _apart(self) -> Mask:
        station = self._where[0][:, self.theirs]
        return far_apart(station, self.width_px, self._px_m, HOLD_FRAMES)

    def windows(self, frame: int) -> list[Piece]:
        """Which stretches of the course are shown?"""
        station = self._where[0][frame, self.theirs]
        between = self.layout.px(6)
        return pieces(station, bool(self._apart[frame]), self.width_px, self._px_m, between)

    def spots(self, frame: int, piece: Piece) -> Array:
        """Where is everybody? Column and row of the ribbon, (N, 2), nan outside the window."""
        along, across = (part[frame] for part in self._where)
        width = np.interp(along, self.strip.station_m, self.strip.width_m)
        down = self._middle_px + (across - 0.5) * drawn_width(width) * self.layout.scale
        return np.stack([piece.columns(along), down], axis=1)

    @property
    def _middle_px(self) -> float:
        return self.layout.ribbon_px - self.layout.px(36)

    def picture(self, frame: int, kinds: dict[str, Mask]) -> Indices:
        """The ribbon of one drawn moment, palette entries (ribbon_px, width_px)."""
        shape = (self.layout.ribbon_px, self.width_px)
        picture = np.full(shape, ink("ground"), dtype=np.uint8)
        picture[0] = ink("text")
        for number, piece in enumerate(self.windows(frame)):
            self._ground(picture, piece)
            self._names(picture, piece)
            bordered, spot = np.pad(picture, BORDER_PX), self.spots(frame, piece)
            for kind, who in kinds.items():
                put_runners(bordered, spot[who], look(kind, DOT_PX_M, self.layout.scale))
            put_numbered(bordered, spot, kinds, self.numbered, (DOT_PX_M, self.layout.scale))
            picture = bordered[BORDER_PX:-BORDER_PX, BORDER_PX:-BORDER_PX]
            if number:
                picture[:, piece.left_px - self.layout.px(6) : piece.left_px] = ink("text")
        return picture

    def _ground(self, picture: Indices, piece: Piece) -> None:
        columns = np.arange(piece.left_px, piece.left_px + piece.width_px)
        station = piece.from_m + (columns - piece.left_px + 0.5) / piece.px_m
        strip, scale = self.strip, self.layout.scale
        half = drawn_width(np.interp(station, strip.station_m, strip.width_m)) * scale / 2
        rows = np.arange(picture.shape[0])[:, None] - self._middle_px
        there = (station >= strip.station_m[0]) & (station <= strip.station_m[-1])
        part = picture[:, columns]
        part[(np.abs(rows) <= half) & there] = ink("course")
        dash = np.floor(station / _DASH_M).astype(int) % 2 == 0
        for side, edge in ((-1, strip.left_edge), (1, strip.right_edge)):
            kind = edge_at(strip, edge, station)
            off = np.abs(rows - side * half)
            part[(off <= 1.6 * scale) & (kind == EdgeKind.BARRIER) & there] = ink("barrier")
            part[(off <= 1.0 * scale) & (kind == EdgeKind.MARKED) & dash & there] = ink("marked")
        picture[:, columns] = part

    def _names(self, picture: Indices, piece: Piece) -> None:
        """Names above the course at their place, as many as find room; lines across at the marks."""
        size, free = self.layout.px(10), piece.left_px
        for mark in self._marks:
            column = float(piece.columns(np.array(mark.station_m)))
            if not np.isfinite(column):
                continue
            if mark.line:
                half = drawn_width(
                    np.interp(mark.station_m, self.strip.station_m, self.strip.width_m)
                )
                top = round(self._middle_px - float(half) * self.layout.scale / 2)
                low = round(self._middle_px + float(half) * self.layout.scale / 2)
                picture[top:low, int(column)] = ink("text")
            room = piece.left_px + piece.width_px - int(column) - 2
            text = clipped(mark.name, size, max(room, 1))
            if column < free or len(text) < min(5, len(mark.name)):
                continue
            letters = lettered(text, size)
            put_levels(picture, letters, int(column) + 2, self.layout.px(1), "text")
            picture[self.layout.px(3) : self.layout.px(13), int(column)] = ink("text")
            free = int(column) + letters.shape[1] + self.layout.px(8)
