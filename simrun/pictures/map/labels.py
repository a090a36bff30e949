"""Where is every name written so that no two overlap? The same place from frame to frame."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.colours import Indices, ink
from simrun.pictures.ink.lettering import clipped, haloed, lettered, width_px
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.placing import Box, box_at, clearest, overlap
from simrun.pictures.ink.stamps import put_levels
from simrun.pictures.map.signs import BOX, FINISH, GATE, OUR_BOX, SECTION, THING, Sign
from simrun.pictures.map.terrain import Window

Array = NDArray[np.float64]

_DISTANCES_PX = (6, 16, 30)
_LONGEST_PX = 220
_COMPASS = [np.array(way) for way in ((0, -1), (1, 0), (0, 1), (-1, 0))]
_COMPASS += [np.array(way) for way in ((1, -1), (1, 1), (-1, 1), (-1, -1))]

_CLEAR_SHARE, _LEAST_SHARE = 0.97, 0.6
"""A name stands beside the course; with less than this share of its box there it is left out."""

_SIZES_PX = {OUR_BOX: 12, BOX: 9, SECTION: 10}
_INKS = {OUR_BOX: "ours", BOX: "muted", SECTION: "muted"}


@dataclass(frozen=True)
class Written:
    """One text on one picture: what, where (left, top, right, bottom)."""

    text: str
    box: Box


@dataclass
class Lettering:
    """Writes the names of one race on its pictures, and remembers which side each was written on."""

    layout: Layout
    _used: dict[tuple[str, float, float], int] = field(default_factory=dict)

    def write(
        self, picture: Indices, window: Window, signs: tuple[Sign, ...], taken: list[Box]
    ) -> list[Written]:
        """Write every sign that finds room on the map, most important first; adds to `taken`."""
        found: list[tuple[Sign, Written]] = []
        for sign in signs:
            spot = window.pixels(sign.place_m)
            if 0 <= spot[0] < window.width_px and 0 <= spot[1] < window.height_px:
                written = self._place(sign, spot, picture, taken)
                if written:
                    taken.append(written.box)
                    found.append((sign, written))
        for sign, written in found:
            self._draw(picture, sign, window.pixels(sign.place_m), written)
        return [written for _, written in found]

    def _place(self, sign: Sign, spot: Array, picture: Indices, taken: list[Box]) -> Written | None:
        """The side used before while it serves; else the clearest free one, or none."""
        text, extent = self._extent(sign)
        key = (sign.text, float(sign.place_m[0]), float(sign.place_m[1]))
        ways, before = self._ways(sign), self._used.get(key)
        if before is not None:
            box = box_at(spot, extent, ways[before])
            if not _inside(box, picture) and _at_border(spot, picture, self.layout.px(40)):
                return None  # leaves the map where it stands, instead of jumping to another side
            if _share(box, picture, taken) >= _CLEAR_SHARE:
                return Written(text, box)
        boxes = [box_at(spot, extent, way) for way in ways]
        least = 0.0 if sign.importance in (THING, BOX, OUR_BOX) else _LEAST_SHARE
        best = clearest(boxes, lambda box: _share(box, picture, taken), least, _CLEAR_SHARE)
        if best is None:
            return None
        self._used[key] = best
        return Written(text, boxes[best])

    def _extent(self, sign: Sign) -> tuple[str, Array]:
        size, bold = self.size_px(sign), sign.importance >= GATE
        text = clipped(sign.text, size, self.layout.px(_LONGEST_PX), bold)
        return text, np.array([width_px(text, size, bold), round(size * 1.2)])

    def size_px(self, sign: Sign) -> int:
        """How large is this sign written?"""
        return self.layout.px(_SIZES_PX.get(sign.importance, 11))

    def _ways(self, sign: Sign) -> list[Array]:
        """Where the text may stand seen from its place: away from the course first."""
        out = sign.outward * [1, -1]
        if sign.importance in (BOX, OUR_BOX):
            return [out * self.layout.px(6)]
        ways = sorted(_COMPASS, key=lambda way: -float(way @ out) / float(np.hypot(*way)))
        return [way * self.layout.px(reach) for reach in _DISTANCES_PX for way in ways]

    def _draw(self, picture: Indices, sign: Sign, spot: Array, found: Written) -> None:
        size, bold = self.size_px(sign), sign.importance >= GATE
        if sign.flag:
            _peg(picture, spot, self.layout.px(3))
        letters = lettered(found.text, size, bold)
        lift = (letters.shape[0] - (found.box[3] - found.box[1])) // 2
        column, row = found.box[0], found.box[1] - lift
        if sign.importance <= FINISH:
            put_levels(picture, haloed(letters, 1), column - 1, row - 1, "ground")
        put_levels(picture, letters, column, row, _INKS.get(sign.importance, "text"))


def _inside(box: Box, picture: Indices) -> bool:
    right, bottom = picture.shape[1] - 4, picture.shape[0] - 3
    return box[0] >= 4 and box[1] >= 3 and box[2] <= right and box[3] <= bottom


def _at_border(spot: Array, picture: Indices, reach: int) -> bool:
    size = np.array([picture.shape[1], picture.shape[0]])
    return bool((spot < reach).any() or (spot > size - reach).any())


def _share(box: Box, picture: Indices, taken: list[Box]) -> float:
    """How much of this box lies beside the course? -1 where it is not free."""
    if not _inside(box, picture) or any(overlap(box, other) for other in taken):
        return -1.0
    part = picture[box[1] : box[3], box[0] : box[2]]
    return float(np.count_nonzero(part == ink("ground"))) / part.size


def _peg(picture: Indices, spot: Array, reach: int) -> None:
    """A small diamond at a landmark."""
    rows, columns = np.mgrid[-reach - 1 : reach + 2, -reach - 1 : reach + 2]
    away = np.abs(rows) + np.abs(columns)
    left, top = int(spot[0]) - reach - 1, int(spot[1]) - reach - 1
    put_levels(picture, (4 * (away <= reach + 1)).astype(np.uint8), left, top, "paper")
    put_levels(picture, (4 * (away <= reach)).astype(np.uint8), left, top, "text")
