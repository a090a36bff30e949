"""Where does the camera look at every moment? First the whole start line, then whom it follows.

The script is written before the first picture is drawn, so the camera knows what comes: it is in
place before a turn, and widens before the team spreads. It never turns; it keeps a few zooms and
glides between them, because a still zoom is easier to watch and cheaper to draw.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import StartLine
from simrun.course.strip import Strip
from simrun.pictures.ink.panels import Layout
from simrun.pictures.story.moments import Followed

Array = NDArray[np.float64]

WHOLE_START_S = 4.0
"""So long is the whole line shown, and the boxes with their numbers."""

GLIDE_S = 2.5
"""From one zoom to another."""

LEAD_S = 1.5
"""The camera looks to where the followed will be."""

NEAREST_PX_M = 14.0
"""At most so many pixels a metre: 57 m of course across the usual picture."""

ZOOM_STEP = 1.3

HOLD_S = 3.0
"""A zoom is kept at least so long on either side of the moment that needs it."""

MARGIN_PX = 34.0
"""Whom the camera follows stays so far from the edge of the map."""

PACK_SHARE = 0.6
"""The pack: this share of the field, those nearest to its middle."""

BEHIND_SHARE, BEHIND_PX = 0.16, 100.0
"""At the start so much of the map's width lies behind the line, at least: boxes and their numbers."""


@dataclass(frozen=True)
class Scene:
    """What stands still: the course and the start line."""

    strip: Strip
    start: StartLine


@dataclass(frozen=True)
class Track:
    """The camera at every drawn moment: middle of the map (F, 2) and pixels a metre (F,).

    box_m (F, 2, 2): lowest and highest corner of what must be seen.
    """

    middle_m: Array
    scale_px_m: Array
    box_m: Array


def direct(
    position_m: Array,
    t_s: Array,
    followed: Followed,
    scene: Scene,
    layout: Layout,
    frame_s: float | None = None,
) -> Track:
    """Write the camera's script for positions (F, N, 2) at the seconds t_s (F,).

    frame_s: how long the camera takes a frame to be, None = what passes between the first two.

    Whom it follows is inside the map in every frame. Check: tests/unit/pictures/test_pictures_director.py.
    """
    frame_s = frame_s or (float(t_s[1] - t_s[0]) if len(t_s) > 1 else 1.0)
    box = _boxes(position_m, followed, scene.start)
    room = np.array([layout.map_width_px, layout.map_height_px]) - 2 * layout.px(MARGIN_PX)
    middle, width = _ground_at(_ahead(box.mean(axis=1), frame_s), scene.strip)
    wanted = np.minimum(_needed_scale(box, room), room[1] / width)
    scale = _few_zooms(wanted, NEAREST_PX_M * layout.scale, frame_s)
    middle = _smooth(middle, 2 * GLIDE_S / frame_s)
    opening = _opening_share(t_s)
    start_scale, start_middle = _start_view(scene.start, layout)
    scale = np.exp((1 - opening) * np.log(scale) + opening * np.log(start_scale))
    scale = np.minimum(scale, _needed_scale(box, room))
    middle = (1 - opening[:, None]) * middle + opening[:, None] * start_middle
    return Track(_kept_inside(middle, box, scale, room), scale, box)


def _ground_at(point_m: Array, strip: Strip) -> tuple[Array, Array]:
    """The middle of the course beside these points, (F, 2), and how wide it is there, (F,)."""
    from scipy.spatial import cKDTree

    middle, width = strip.middle_m, strip.width_m
    between = np.linspace(0, 1, 9)[:-1, None]
    near = [middle[:-1, axis] * (1 - between) + middle[1:, axis] * between for axis in (0, 1)]
    points = np.stack([part.ravel() for part in near], axis=1)
    _, found = cKDTree(points).query(point_m)
    return points[found], (width[:-1] * (1 - between) + width[1:] * between).ravel()[found]


def _boxes(position_m: Array, followed: Followed, start: StartLine) -> Array:
    """The box that must be seen at every moment, (F, 2, 2); held where nobody is left."""
    boxes = np.full((len(position_m), 2, 2), np.nan)
    for frame, everybody in enumerate(position_m):
        seen = everybody[followed.who] if followed.who.any() else _pack(everybody)
        seen = seen[np.isfinite(seen).all(axis=1)]
        if len(seen):
            boxes[frame] = seen.min(axis=0), seen.max(axis=0)
    return _held(boxes, start)


def _pack(everybody: Array) -> Array:
    here = everybody[np.isfinite(everybody).all(axis=1)]
    if not len(here):
        return here
    away = np.hypot(*(here - np.median(here, axis=0)).T)
    return here[np.argsort(away, kind="stable")[: max(1, round(PACK_SHARE * len(here)))]]


def _held(boxes: Array, start: StartLine) -> Array:
    known = np.flatnonzero(np.isfinite(boxes[:, 0, 0]))
    if not len(known):
        line = np.array([start.line_m.min(axis=0), start.line_m.max(axis=0)])
        return np.tile(line, (len(boxes), 1, 1))
    last = np.searchsorted(known, np.arange(len(boxes)), side="right") - 1
    return boxes[known[np.maximum(last, 0)]]


def _needed_scale(box: Array, room_px: Array) -> Array:
    """At most so many pixels a metre show the whole box, (F,)."""
    extent = np.maximum(box[:, 1] - box[:, 0], 0.5)
    return (room_px / extent).min(axis=1)


def _few_zooms(wanted: Array, nearest: float, frame_s: float) -> Array:
    """The wanted pixels a metre in a few steps, kept for a while, with glides between them, (F,)."""
    steps = np.log(np.minimum(wanted, nearest) / nearest) / np.log(ZOOM_STEP)
    whole = np.floor(steps + 1e-9)
    reach = round((HOLD_S + GLIDE_S) / frame_s)
    kept = _opened(_least(whole, round(GLIDE_S / frame_s)), reach)
    return nearest * ZOOM_STEP ** _smooth(kept, GLIDE_S / frame_s)


def _least(values: Array, reach: int) -> Array:
    """The least value within `reach` frames on either side, (F,)."""
    from scipy.ndimage import minimum_filter1d

    return minimum_filter1d(values, 2 * reach + 1, mode="nearest")


def _opened(values: Array, reach: int) -> Array:
    """The same without peaks shorter than 2 x `reach` frames: no zooming in for a moment."""
    from scipy.ndimage import maximum_filter1d

    least = _least(values, reach)
    return np.minimum(values, maximum_filter1d(least, 2 * reach + 1, mode="nearest"))


def _smooth(values: Array, frames: float) -> Array:
    """A moving average over about so many frames with soft shoulders, ends held, (F,) or (F, 2)."""
    from scipy.ndimage import convolve1d

    half = max(0, int(frames / 2))
    kernel = np.cos(np.linspace(-np.pi / 2, np.pi / 2, 2 * half + 3)[1:-1]) ** 2
    smooth = convolve1d(values, kernel / kernel.sum(), axis=0, mode="nearest")
    return np.where(np.abs(smooth - np.round(smooth)) < 1e-9, np.round(smooth), smooth)


def _ahead(middle_m: Array, frame_s: float) -> Array:
    """The middle as it will be a little later, (F, 2)."""
    later = np.arange(len(middle_m)) + round(LEAD_S / frame_s)
    return middle_m[np.minimum(later, len(middle_m) - 1)]


def _opening_share(t_s: Array) -> Array:
    """How much of the picture still belongs to the whole start? 1 at the gun, 0 after the glide."""
    gone = np.clip((t_s - WHOLE_START_S) / GLIDE_S, 0, 1)
    return 1 - gone * gone * (3 - 2 * gone)


def _start_view(start: StartLine, layout: Layout) -> tuple[float, Array]:
    """Pixels a metre and middle of the map that show the whole line and the ground before it."""
    low, high = start.line_m.min(axis=0), start.line_m.max(axis=0)
    room = layout.map_height_px - layout.px(40)
    scale = min(room / max(high[1] - low[1], 10.0), NEAREST_PX_M * layout.scale)
    behind = max(BEHIND_SHARE * layout.map_width_px, layout.px(BEHIND_PX))
    ahead = layout.map_width_px / 2 - behind
    return scale, np.array([low[0] + ahead / scale, (low[1] + high[1]) / 2])


def _kept_inside(middle_m: Array, box: Array, scale: Array, room_px: Array) -> Array:
    """The nearest middle from which the whole box is seen, (F, 2)."""
    half = room_px / 2 / scale[:, None]
    lowest, highest = box[:, 1] - half, box[:, 0] + half
    inside = np.clip(middle_m, np.minimum(lowest, highest), highest)
    return np.where(lowest <= highest, inside, (lowest + highest) / 2)
