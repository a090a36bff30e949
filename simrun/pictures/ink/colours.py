"""Which colours are drawn with, and how are they mixed when every pixel is one palette index?

A paletted picture cannot hold a new colour for each soft edge. So the palette holds the inks and a
choice of their mixtures, and a table says which entry stands for one ink laid over another.
Ours are dark and everybody else is light: three to one in contrast, whoever they run against. Who is
losing time is warm, and the darker and fuller the faster.
Check: tests/unit/pictures/test_pictures_colours.py (three kinds of colour-blindness, contrast).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

Indices = NDArray[np.uint8]

INKS: dict[str, tuple[int, int, int]] = {
    "ground": (214, 221, 203),
    "course": (248, 245, 235),
    "paper": (255, 255, 255),
    "rule": (190, 197, 186),
    "text": (31, 39, 43),
    "muted": (86, 98, 103),
    "barrier": (66, 47, 32),
    "marked": (0, 122, 110),
    "line": (166, 158, 140),
    "other": (150, 158, 163),
    "ours": (0, 38, 104),
    "ours_ring": (0, 30, 66),
    "losing": (244, 180, 0),
    "slowed": (213, 94, 0),
    "losing_most": (235, 0, 72),
    "followed": (240, 228, 66),
    "other_plan": (112, 56, 236),
}
"""Every ink by what it stands for, red, green and blue from 0 to 255."""

PART_INKS = {"box": "marked", "line": "followed", "traffic": "text", "racing": "other_plan"}
"""What each part of the loss is drawn in, in films and charts."""

COLOURS = 64
"""A palette of 64 needs six bits a pixel."""

CLEAR = COLOURS - 1
"""The last entry is never drawn: it says "as in the frame before"."""

LEVELS = 4
"""A soft edge covers nothing, one third, two thirds or all of a pixel."""

_CLEAR_COLOUR = (1, 2, 3)

_MIXED = (
    ("ground", "course barrier marked text muted line paper slowed other"),
    (
        "course",
        "barrier marked text muted line paper losing slowed losing_most other ours followed",
    ),
    ("course", "ours_ring other_plan"),
    ("paper", "text muted losing slowed losing_most ours other followed rule barrier marked"),
    ("paper", "other_plan"),
    ("ours_ring", "ours followed"),
    ("slowed", "ours"),
)


def ink(name: str) -> int:
    """Which palette entry is this ink?"""
    return list(INKS).index(name)


def mixed(over: NDArray, under: NDArray, share: NDArray | float) -> NDArray[np.float64]:
    """One colour laid over another: `share` is how much of the pixel it covers."""
    return np.asarray(over) * share + np.asarray(under) * (1 - np.asarray(share))


@cache
def palette() -> Indices:
    """The whole palette, (64, 3): the inks, the mixtures that are farthest apart, and CLEAR."""
    chosen = [np.array(colour, dtype=float) for colour in INKS.values()]
    candidates = np.array(_mixtures())
    far = np.full(len(candidates), np.inf)
    while len(chosen) < COLOURS - 1:
        near = np.array(chosen)[:, None, :] if far[0] == np.inf else chosen[-1][None, None, :]
        far = np.minimum(far, ((near - candidates) ** 2).sum(axis=2).min(axis=0))
        chosen.append(candidates[far.argmax()])
    return np.array([*chosen, _CLEAR_COLOUR]).round().astype(np.uint8)


def _mixtures() -> list[NDArray[np.float64]]:
    pairs = [(under, over) for under, overs in _MIXED for over in overs.split()]
    shares = np.arange(1, LEVELS) / LEVELS
    return [
        mixed(np.array(INKS[over]), np.array(INKS[under]), share)
        for under, over in pairs
        for share in shares
    ]


def nearest(colour: NDArray) -> Indices:
    """Which palette entry is nearest to these colours (..., 3)?"""
    flat = np.asarray(colour, dtype=float).reshape(-1, 3)
    usable = palette()[:CLEAR].astype(float)
    apart = ((flat[:, None, :] - usable[None, :, :]) ** 2).sum(axis=2)
    return apart.argmin(axis=1).astype(np.uint8).reshape(np.shape(colour)[:-1])


@cache
def _lookup() -> Indices:
    """The nearest entry of every colour, 32 steps a channel: (32768,)."""
    steps = np.arange(32) * 8 + 4
    red, green, blue = np.meshgrid(steps, steps, steps, indexing="ij")
    cube = np.stack([red, green, blue], axis=-1).reshape(-1, 3)
    return np.concatenate([nearest(part) for part in np.array_split(cube, 16)])


def indexed(rgb: NDArray[np.uint8]) -> Indices:
    """A whole picture (H, W, 3 or 4) in palette entries (H, W); every ink keeps its own entry."""
    key = (rgb[..., 0] & np.uint8(0xF8)).astype(np.uint16) << 7
    key |= (rgb[..., 1] & np.uint8(0xF8)).astype(np.uint16) << 2
    key |= rgb[..., 2] >> 3
    return np.take(_lookup(), key)


@cache
def blends() -> Indices:
    """Which entry is `over` laid on `under` at a level? (LEVELS + 1, 64 under, 64 over)"""
    colours = palette().astype(float)
    over, under = colours[None, :, :], colours[:, None, :]
    tables = [nearest(mixed(over, under, level / LEVELS)) for level in range(LEVELS)]
    tables[0] = np.repeat(np.arange(COLOURS, dtype=np.uint8)[:, None], COLOURS, axis=1)
    whole = np.repeat(np.arange(COLOURS, dtype=np.uint8)[None, :], COLOURS, axis=0)
    return np.stack([*tables, whole])
