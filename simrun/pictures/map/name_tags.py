"""Where is the name of our team, or of whom the camera follows, so that they are found at once?"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.colours import Indices
from simrun.pictures.ink.lettering import clipped, lettered, width_px
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.placing import Box, overlap
from simrun.pictures.ink.stamps import put_levels
from simrun.pictures.map.labels import Written

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_INKS = {"ours": ("ours_ring", "paper"), "followed": ("text", "followed")}
_REACHES_PX = (14, 26, 40, 58, 80, 110)
_SIDES = ((0, -1), (0, 1), (1, 0), (-1, 0))

_OURS_COST = 30.0
"""Hiding one of the named."""

_OTHERS_COST = 3.0

_STALK_COST = 3.0
"""Crossing one of the named with the stalk; a tenth of it for others."""

_STAY_COST = 8.0
"""A name changes its side only to uncover more than this."""


@dataclass(frozen=True)
class Group:
    """Some runners with a name; `bearer` is the one to whom the name is tied."""

    kind: str
    name: str
    who: Mask
    bearer: int


def group(kind: str, name: str, who: Mask, position_m: Array) -> Group | None:
    """The runners `who` of positions (F, N, 2), tied to the one who is most often in their middle."""
    if not who.any() or not name:
        return None
    theirs = position_m[:: max(1, len(position_m) // 200), who]
    theirs = theirs[np.isfinite(theirs).all(axis=(1, 2))]
    if not len(theirs):
        return Group(kind, name, who, int(np.flatnonzero(who)[0]))
    away = np.hypot(*(theirs - np.median(theirs, axis=1, keepdims=True)).transpose(2, 0, 1))
    return Group(kind, name, who, int(np.flatnonzero(who)[away.mean(axis=0).argmin()]))


@dataclass
class Names:
    """Writes the names with a stalk to their bearer, where they hide the fewest runners."""

    layout: Layout
    groups: list[Group]
    _used: dict[str, int] = field(default_factory=dict)
    _extents: dict[str, Array] = field(default_factory=dict)

    def write(self, picture: Indices, pixel: Array, taken: list[Box]) -> list[Written]:
        """Name every group with somebody on the map at pixel (N, 2); adds to `taken`."""
        found = (self._write_one(picture, one, pixel, taken) for one in self.groups)
        return [written for written in found if written]

    def _write_one(
        self, picture: Indices, one: Group, pixel: Array, taken: list[Box]
    ) -> Written | None:
        here = one.who & _on_map(pixel, picture)
        if not here.any():
            return None
        bearer = one.bearer if here[one.bearer] else int(np.flatnonzero(here)[0])
        text = clipped(one.name, self.layout.px(11), self.layout.px(130), True)
        boxes = self._boxes(pixel[bearer], text)
        people = pixel[here], pixel[~one.who]
        costs = _costs(boxes, pixel[bearer], people, picture.shape, taken)
        best = self._best(costs, one)
        if best is None:
            return None
        self._draw(picture, one.kind, text, pixel[bearer], boxes[best])
        taken.append(boxes[best])
        return Written(text, boxes[best])

    def _best(self, costs: Array, one: Group) -> int | None:
        """The cheapest place; the one used before unless another is much cheaper."""
        if one.name in self._used:
            costs[self._used[one.name]] -= _STAY_COST
        best = int(np.argmin(costs))
        if not np.isfinite(costs[best]):
            return None
        self._used[one.name] = best
        return best

    def _boxes(self, spot: Array, text: str) -> list[Box]:
        """Where the name may stand: near first, above, below, right and left."""
        corners = np.round(np.tile(spot, 2) + self._around(text)).astype(int)
        return [tuple(corner) for corner in corners.tolist()]

    def _around(self, text: str) -> Array:
        """The same boxes as seen from the bearer, (B, 4)."""
        if text not in self._extents:
            size = self.layout.px(11)
            wide = width_px(text, size, True) + self.layout.px(12)
            extent = np.array([wide, self.layout.px(18)], dtype=float)
            reaches = np.array([self.layout.px(reach) for reach in _REACHES_PX])
            away = (reaches[:, None, None] + extent / 2) * np.array(_SIDES)
            low = np.floor(away.reshape(-1, 2) - extent / 2)
            self._extents[text] = np.hstack([low, low + extent])
        return self._extents[text]

    def _draw(self, picture: Indices, kind: str, text: str, spot: Array, box: Box) -> None:
        back, front = _INKS[kind]
        _stalk(picture, spot.astype(int), box, self.layout.px(8), back)
        shape = np.full((box[3] - box[1], box[2] - box[0]), 4, dtype=np.uint8)
        shape[[0, 0, -1, -1], [0, -1, 0, -1]] = 1
        put_levels(picture, shape, box[0], box[1], back)
        letters = lettered(text, self.layout.px(11), True)
        row = box[1] + (box[3] - box[1] - letters.shape[0]) // 2
        column = box[0] + (box[2] - box[0] - letters.shape[1]) // 2
        put_levels(picture, letters, column, row, front)


def _stalk(picture: Indices, spot: NDArray[np.int64], box: Box, clear_px: int, name: str) -> None:
    """The line between a name and its bearer, two pixels wide."""
    x, y = int(spot[0]), int(spot[1])
    across = box[0] > x or box[2] < x
    from_x, to_x = (x + clear_px, box[0]) if box[0] > x else (box[2], x - clear_px)
    from_y, to_y = (y + clear_px, box[1]) if box[1] > y else (box[3], y - clear_px)
    high, wide = (2, to_x - from_x) if across else (to_y - from_y, 2)
    if high > 0 and wide > 0:
        left, top = (from_x, y - 1) if across else (x - 1, from_y)
        put_levels(picture, np.full((high, wide), 4, dtype=np.uint8), left, top, name)


def _costs(
    boxes: list[Box],
    spot: Array,
    people: tuple[Array, Array],
    shape: tuple[int, ...],
    taken: list[Box],
) -> Array:
    """How much would a name, and its stalk, hide? No text at all, few runners, near is better. (B,)"""
    corners = np.array(boxes, dtype=float)
    middle = (corners[:, :2] + corners[:, 2:]) / 2
    stalks = np.hstack([np.minimum(middle, spot), np.maximum(middle, spot)])
    theirs, others = people
    hidden = _OURS_COST * _covered(corners, theirs) + _OTHERS_COST * _covered(corners, others)
    crossed = _STALK_COST * (_covered(stalks, theirs) + 0.1 * _covered(stalks, others))
    costs = hidden + crossed + 0.02 * np.abs(middle - spot).sum(axis=1)
    free = [
        _free(box, shape, taken) and not any(overlap(tuple(stalk), other, 0) for other in taken)
        for box, stalk in zip(boxes, stalks, strict=True)
    ]
    return np.where(free, costs, np.inf)


def _on_map(pixel: Array, picture: Indices) -> Mask:
    size = np.array([picture.shape[1], picture.shape[0]])
    inside = ((pixel >= 0) & (pixel < size)).all(axis=1)
    return np.asarray(inside, dtype=bool)


def _free(box: Box, shape: tuple[int, ...], taken: list[Box]) -> bool:
    inside = box[0] >= 4 and box[1] >= 3 and box[2] <= shape[1] - 4 and box[3] <= shape[0] - 3
    return inside and not any(overlap(box, other) for other in taken)


def _covered(boxes: Array, pixel: Array) -> Array:
    """How many of these runners (M, 2) would something in each box (B, 4) hide? (B,)"""
    low, high = boxes[:, None, :2] - 6, boxes[:, None, 2:] + 6
    inside = (pixel[None] > low) & (pixel[None] < high)
    return inside.all(axis=2).sum(axis=1).astype(float)
