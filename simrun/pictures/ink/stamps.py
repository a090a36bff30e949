"""How is a runner drawn? As a small round stamp of palette entries, with soft edges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.colours import INKS, LEVELS, Indices, blends, ink, nearest
from simrun.pictures.ink.lettering import lettered

Array = NDArray[np.float64]

BODY_RADIUS_M = 0.23
"""Half a body's width: a stamp is never smaller than the body, at far zooms it is larger."""

LOSING = ("other", "losing", "slowed", "losing_most")
"""The ink of every level of losing."""

HOLLOW_SHARE = (0.0, 0.72, 0.42, 0.0)
"""How much of the body is hollow at every level: the faster a runner loses, the fuller the ring."""

OURS_PX = 5.6
"""One of ours reaches so far at least: a number has room in it."""

_FINE = 8
"""Each pixel of a stamp is sampled so many times across and down."""


@dataclass(frozen=True)
class Look:
    """Rings from the outside in: an ink and how far from the middle it reaches, in pixels."""

    rings: tuple[tuple[str, float], ...]
    diamond: bool = False

    @property
    def radius_px(self) -> float:
        """How far does the whole stamp reach?"""
        return self.rings[0][1]


def look(kind: str, scale_px_m: float, type_scale: float) -> Look:
    """What does a runner of this kind look like at this zoom?

    kind: "other", "ours" or "followed", and behind it the level of losing, "ours 2" (`story.losing`).
    Ours are larger and lie in a dark ring and a white halo. Who is losing time is a ring that fills
    up: the shape tells them, not the colour alone; one of ours keeps the filled middle inside it.
    Where the same people are in the other plan is a hollow diamond.
    """
    rings: tuple[tuple[str, float], ...]
    least = min(max(0.46 * scale_px_m, 3.0 * type_scale), 3.1 * type_scale)
    body = max(least, BODY_RADIUS_M * scale_px_m)
    kind, _, level = kind.partition(" ")
    lost = int(level or 0)
    if kind == "other_plan":
        reach = max(5.0 * type_scale, body + 1.5)
        thick = 2.4 * type_scale
        rings = (("paper", reach + 2.6), ("other_plan", reach + 1.2), ("paper", reach - thick))
        return Look(rings, diamond=True)
    if kind == "other" and not lost:
        return Look((("course", body + 0.8), ("other", body)))
    if kind == "other":
        hollow = body * HOLLOW_SHARE[lost]
        return Look((("course", body + 2.0), (LOSING[lost], body + 1.3), ("paper", hollow)))
    inner = max(OURS_PX * type_scale, body + 1.0)
    if lost:
        wide = 1.2 + 0.8 * lost
        rings = (("paper", wide + 3.0), ("ours_ring", wide + 1.8), (LOSING[lost], wide + 1.0))
        rings += (("paper", 1.0), (kind, 0.0))
    else:
        rings = (("paper", 3.6), ("ours_ring", 1.8), (kind, 0.0))
    return Look(tuple((name, inner + more * type_scale**0.5) for name, more in rings))


@dataclass(frozen=True)
class Stamp:
    """The covered pixels of a stamp: rows and columns from its middle, palette entry, level; (P,)."""

    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    entry: Indices
    level: Indices


@lru_cache(maxsize=512)
def stamp(kind_look: Look) -> Stamp:
    """The stamp of a look, its middle in the middle of a pixel.

    Stamps for the four quarters of a pixel were tried: a fifth to a quarter more bytes (300 and 600
    runners).
    """
    reach = int(np.ceil(kind_look.radius_px)) + 1
    size = 2 * reach + 1
    fine = (np.arange(size * _FINE) + 0.5) / _FINE - size / 2
    across, down = np.abs(fine[None, :]), np.abs(fine[:, None])
    away = across + down if kind_look.diamond else np.hypot(across, down)
    colour = np.zeros((*away.shape, 3))
    for name, radius in kind_look.rings:
        colour[away <= radius] = INKS[name]
    whole = _pooled((away <= kind_look.radius_px).astype(float)[..., None])[..., 0]
    level = np.round(whole * LEVELS).astype(np.uint8)
    mean = _pooled(colour) / np.maximum(whole, 1e-9)[..., None]
    rows, columns = np.nonzero(level)
    entry = nearest(mean[rows, columns])
    return Stamp(rows - reach, columns - reach, entry, level[rows, columns])


def _pooled(fine: Array) -> Array:
    size = fine.shape[0] // _FINE
    return fine.reshape(size, _FINE, size, _FINE, -1).mean(axis=(1, 3))


BORDER_PX = 40
"""A picture in work has this border, so that a stamp at the edge needs no cutting."""


def put_runners(bordered: Indices, pixel: Array, kind_look: Look) -> None:
    """Stamp runners at pixel (M, 2), column and row in the map, on a picture with a border."""
    height, width = bordered.shape
    spot = pixel[np.isfinite(pixel).all(axis=1)] + BORDER_PX
    reach = kind_look.radius_px + 3
    near = ((spot > reach) & (spot < np.array([width, height]) - reach)).all(axis=1)
    _put(bordered, np.floor(spot[near]).astype(np.int64), stamp(kind_look))


def _put(bordered: Indices, whole: NDArray[np.int64], one: Stamp) -> None:
    """Where two stamps of one call overlap, the later lies on top and keeps a thin rim."""
    flat = bordered.reshape(-1)
    middle = whole[:, 1] * bordered.shape[1] + whole[:, 0]
    at = middle[:, None] + (one.rows * bordered.shape[1] + one.columns)[None, :]
    flat[at] = blends()[one.level[None, :], flat[at], one.entry[None, :]]


def put_numbered(
    bordered: Indices,
    pixel: Array,
    kinds: Mapping[str, NDArray[np.bool_]],
    rows: NDArray[np.int64],
    scales: tuple[float, float],
) -> None:
    """Stamp the runners of these rows at their pixel (N, 2), each with the number of its row from 1; the
    first lies on top. kinds: who (N,) is of which; scales: pixels a metre, and of the type.
    """
    scale_px_m, type_scale = scales
    for row, runner in reversed(list(enumerate(rows))):
        kind = next(kind for kind, who in kinds.items() if who[runner])
        put_runners(bordered, pixel[[runner]], look(kind, scale_px_m, type_scale))
        spot = pixel[runner] + BORDER_PX
        if not ((spot > 0) & (spot < np.array(bordered.shape)[::-1])).all():
            continue
        size = round((9 if row < 9 else 7) * type_scale)
        digits = lettered(str(row + 1), size, True)
        inked = np.flatnonzero(digits.any(axis=1))
        digits = digits[inked[0] : inked[-1] + 1]
        column, top = np.floor(spot).astype(int) - np.array(digits.shape)[::-1] // 2
        put_levels(bordered, digits, int(column), int(top), "paper")


def put_levels(picture: Indices, levels: Indices, column: int, row: int, name: str) -> None:
    """Lay an ink on a picture where a mask of levels (H, W) says so; what lies outside is cut off."""
    top, left = max(row, 0), max(column, 0)
    bottom = min(row + levels.shape[0], picture.shape[0])
    right = min(column + levels.shape[1], picture.shape[1])
    if top >= bottom or left >= right:
        return
    part = picture[top:bottom, left:right]
    mask = levels[top - row : bottom - row, left - column : right - column]
    part[...] = blends()[mask, part, ink(name)]
