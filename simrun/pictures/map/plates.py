"""Where may a caption or a small picture lie on the map, and from which frame to which?

A plate stays where it is while it is shown, so its place is chosen for the whole time: where it hides
none of those followed, and few others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.placing import Box, overlap

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Pixels = Callable[[int], Array]
"""Where on the map is everybody in a frame? (N, 2)"""

EDGE_PX = 8
"""A plate lies so far from the edge of the map."""

THEIRS_COST = 100.0
"""Hiding one of those followed, against one of the others."""

LOOKED_AT = 3
"""Every so many-th frame is looked at."""

REACH_PX = 8
"""A runner's dot is hidden when its middle comes so near."""


@dataclass(frozen=True)
class Plate:
    """A box (left, top, right, bottom) of the map, shown from `first` to before `last`."""

    first: int
    last: int
    box: Box

    def shows(self, frame: int) -> bool:
        """Is it there in this frame?"""
        return self.first <= frame < self.last

    def meets(self, other: Plate) -> bool:
        """Do two plates come into each other's way?"""
        together = self.first < other.last and other.first < self.last
        return together and overlap(self.box, other.box)


def settled(
    frames: tuple[int, int],
    extent_px: tuple[int, int],
    layout: Layout,
    people: tuple[Pixels, Mask],
    others: Iterable[Plate] = (),
) -> Plate | None:
    """The plate of this size that hides least in these frames and meets no other; None where all do.

    people: where everybody is, and who is followed (N,).
    """
    plates = [Plate(*frames, box) for box in _boxes(extent_px, layout)]
    free = [plate for plate in plates if not any(plate.meets(other) for other in others)]
    pixels, theirs = people
    where = [pixels(frame) for frame in range(*frames, LOOKED_AT)]
    return min(free, key=lambda plate: _cost(plate.box, where, theirs), default=None)


def hides(box: Box, pixel: Array) -> Mask:
    """Who of these (N, 2) lies under a box? (N,)"""
    low, high = np.array(box[:2]) - REACH_PX, np.array(box[2:]) + REACH_PX
    return np.asarray(((pixel > low) & (pixel < high)).all(axis=1))


def stretches(wanted: Mask) -> list[tuple[int, int]]:
    """Where is a mask (F,) true? First and one behind the last of every run."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], wanted.astype(int), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _cost(box: Box, where: list[Array], theirs: Mask) -> float:
    hidden = np.array([hides(box, pixel) for pixel in where])
    return float(hidden.sum() + (THEIRS_COST - 1) * hidden[:, theirs].sum())


def _boxes(extent_px: tuple[int, int], layout: Layout) -> list[Box]:
    """Along the lower and the upper edge of the map: left, right, middle, and between these."""
    wide, high = extent_px
    edge = layout.px(EDGE_PX)
    right, middle = layout.map_width_px - wide - edge, (layout.map_width_px - wide) // 2
    across = (edge, right, middle, (edge + middle) // 2, (middle + right) // 2)
    down = (layout.map_height_px - high - edge, edge)
    return [(left, top, left + wide, top + high) for top in down for left in across]
