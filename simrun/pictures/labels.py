"""Where is every name written so that no two overlap? The same place from frame to frame."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.colours import Indices
from simrun.pictures.ground import Window
from simrun.pictures.layout import Layout
from simrun.pictures.lettering import clipped, haloed, lettered, width_px
from simrun.pictures.signs import Sign
from simrun.pictures.stamps import put_levels

Array = NDArray[np.float64]
Box = tuple[int, int, int, int]

GAP_PX = 3
_DISTANCES_PX = (7, 22, 40)
_LONGEST_PX = 220


def overlap(one: Box, other: Box, gap: int = GAP_PX) -> bool:
    """Do two boxes (left, top, right, bottom) come nearer than `gap` pixels?"""
    apart_across = one[2] + gap <= other[0] or other[2] + gap <= one[0]
    apart_down = one[3] + gap <= other[1] or other[3] + gap <= one[1]
    return not (apart_across or apart_down)


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
        written = []
        for sign in signs:
            spot = window.pixels(sign.place_m)
            if self._in_sight(spot, window):
                found = self._place(sign, spot, window, taken)
                if found:
                    taken.append(found.box)
                    written.append(found)
                    self._draw(picture, sign, spot, found)
        return written

    def _in_sight(self, spot: Array, window: Window) -> bool:
        return bool(
            -60 < spot[0] < window.width_px + 60 and -60 < spot[1] < window.height_px + 60
        )

    def _place(self, sign: Sign, spot: Array, window: Window, taken: list[Box]) -> Written | None:
        size, bold = self.size_px(sign), sign.importance >= 5
        text = clipped(sign.text, size, self.layout.px(_LONGEST_PX), bold)
        extent = np.array([width_px(text, size, bold), round(size * 1.2)])
        key = (sign.text, float(sign.place_m[0]), float(sign.place_m[1]))
        boxes = [_box_at(spot, extent, way) for way in self._ways(sign)]
        order = sorted(range(len(boxes)), key=lambda i: (i != self._used.get(key, 0), i))
        for index in order:
            if self._free(boxes[index], window, taken):
                self._used[key] = index
                return Written(text, boxes[index])
        return None

    def size_px(self, sign: Sign) -> int:
        """How large is this sign written?"""
        usual = {9: 11, 8: 10, 7: 9, 1: 10}.get(sign.importance, 11)
        return self.layout.px(usual)

    def _ways(self, sign: Sign) -> list[Array]:
        """Where the text may stand seen from its place: away from the course first."""
        out = sign.outward * [1, -1]
        if sign.importance >= 7:
            return [out * self.layout.px(9)]
        aside = np.array([-out[1], out[0]])
        turns = [out, out + aside, out - aside]
        return [turn * self.layout.px(reach) for reach in _DISTANCES_PX for turn in turns]

    @staticmethod
    def _free(box: Box, window: Window, taken: list[Box]) -> bool:
        inside = (
            box[0] >= 4
            and box[1] >= 3
            and box[2] <= window.width_px - 4
            and box[3] <= window.height_px - 3
        )
        return inside and not any(overlap(box, other) for other in taken)

    def _draw(self, picture: Indices, sign: Sign, spot: Array, found: Written) -> None:
        size, bold = self.size_px(sign), sign.importance >= 5
        if sign.flag:
            _peg(picture, spot, self.layout.px(3))
        letters = lettered(found.text, size, bold)
        lift = (letters.shape[0] - (found.box[3] - found.box[1])) // 2
        column, row = found.box[0], found.box[1] - lift
        ground = "ground"
        put_levels(picture, haloed(letters, 1), column - 1, row - 1, ground)
        name = {9: "ours", 7: "muted", 1: "muted"}.get(sign.importance, "text")
        put_levels(picture, letters, column, row, name)


def _box_at(spot: Array, extent: Array, way: Array) -> Box:
    """The box of a text that touches the end of `way` with the side that faces its place."""
    length = max(float(np.hypot(*way)), 1e-9)
    middle = spot + way + way / length * extent / 2
    left, top = np.round(middle - extent / 2).astype(int)
    return int(left), int(top), int(left + extent[0]), int(top + extent[1])


def _peg(picture: Indices, spot: Array, reach: int) -> None:
    """A small diamond at a landmark."""
    rows, columns = np.mgrid[-reach - 1 : reach + 2, -reach - 1 : reach + 2]
    away = np.abs(rows) + np.abs(columns)
    left, top = int(spot[0]) - reach - 1, int(spot[1]) - reach - 1
    put_levels(picture, (4 * (away <= reach + 1)).astype(np.uint8), left, top, "paper")
    put_levels(picture, (4 * (away <= reach)).astype(np.uint8), left, top, "text")


def put_pill(picture: Indices, text: str, box: Box, size_px: int, inks: tuple[str, str]) -> None:
    """A name in a filled box with the corners taken off."""
    left, top, right, bottom = box
    shape = np.full((bottom - top, right - left), 4, dtype=np.uint8)
    shape[[0, 0, -1, -1], [0, -1, 0, -1]] = 1
    put_levels(picture, shape, left, top, inks[0])
    letters = lettered(text, size_px, True)
    row = top + (bottom - top - letters.shape[0]) // 2
    put_levels(picture, letters, left + (right - left - letters.shape[1]) // 2, row, inks[1])


