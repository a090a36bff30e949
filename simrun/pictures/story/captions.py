"""What is written on the picture at every beat of the script, where, and for how long?"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.colours import Indices, ink
from simrun.pictures.ink.lettering import clipped, lettered, width_px
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.placing import Box
from simrun.pictures.ink.stamps import put_levels
from simrun.pictures.map.labels import Written
from simrun.pictures.map.plates import EDGE_PX, Mask, Pixels, Plate, hides, settled
from simrun.pictures.story.script import Beat

Array = NDArray[np.float64]

SHOWN_S = 3.0
"""A caption stays so long on the screen, besides the time that the picture waits."""

LEAST_FRAMES = 10
"""A caption is shown in at least so many frames, unless the picture waits for it."""

PAUSE_S = 2.5
"""So long the picture waits at a moment that decides: time to read four short lines."""

_LINES = ((12, True, "text"), (11, False, "text"), (10, False, "muted"), (11, True, "text"))
"""Size, bold and ink of the four lines; an empty one takes no room."""

_INSIDE_PX, _LEADING = 7, 1.25


@dataclass(frozen=True)
class Caption:
    """A beat with the plate on which it is written."""

    beat: Beat
    plate: Plate


def frame_at(t_s: Array, second: float) -> int:
    """The first drawn frame at or after a second."""
    return min(int(np.searchsorted(t_s, second - 1e-9)), len(t_s) - 1)


def captions(
    beats: tuple[Beat, ...],
    t_s: Array,
    shown_frames: int,
    layout: Layout,
    people: tuple[Pixels, Mask],
    insets: tuple[Plate, ...],
) -> list[Caption]:
    """One for every beat among the drawn seconds t_s (F,), gone when the next one comes."""
    shown = told(beats, t_s)
    first = [frame_at(t_s, beat.t_s) for beat in shown]
    found = []
    for index, beat in enumerate(shown):
        last = min([first[index] + shown_frames, len(t_s), *first[index + 1 : index + 2]])
        extent = extent_px(beat, layout)
        plate = settled((first[index], last), extent, layout, people, insets)
        if plate:
            found.append(Caption(beat, _uncovering(plate, people)))
    return found


def _uncovering(plate: Plate, people: tuple[Pixels, Mask]) -> Plate:
    """The plate, gone once it would hide one of those followed and has been read."""
    pixels, theirs = people
    for frame in range(plate.first + LEAST_FRAMES, plate.last):
        if hides(plate.box, pixels(frame)[theirs]).any():
            return replace(plate, last=frame)
    return plate


def told(beats: tuple[Beat, ...], t_s: Array) -> list[Beat]:
    """Which beats are told among the drawn seconds t_s (F,)? Not those that a more important one would drive
    away before they are read; what it cost is told at the last frame."""
    last = [beat for beat in beats if beat.is_the_end]
    here = [beat for beat in beats if t_s[0] <= beat.t_s <= t_s[-1] and not beat.is_the_end]
    kept: list[tuple[int, Beat]] = []
    for beat in sorted([*here, *last], key=lambda beat: (-beat.importance, -beat.t_s)):
        at = frame_at(t_s, beat.t_s)
        room = [(abs(at - frame), old if frame < at else beat) for frame, old in kept]
        if all(apart >= (1 if before.decides else LEAST_FRAMES) for apart, before in room):
            kept.append((at, beat))
    return [beat for _, beat in sorted(kept, key=lambda one: one[0])]


def extent_px(beat: Beat, layout: Layout) -> tuple[int, int]:
    """How large is the plate of this beat?"""
    widths = [width_px(text, size, bold) for text, size, bold, _ in _fitted(beat, layout)]
    high = sum(round(size * _LEADING) for _, size, _, _ in _fitted(beat, layout))
    inside = 2 * layout.px(_INSIDE_PX)
    return max(widths) + inside, high + inside


def _fitted(beat: Beat, layout: Layout) -> list[tuple[str, int, bool, str]]:
    room = layout.map_width_px - 2 * layout.px(EDGE_PX + _INSIDE_PX)
    sizes = [(layout.px(size), bold, name) for size, bold, name in _LINES]
    return [
        (clipped(text, size, room, bold), size, bold, name)
        for text, (size, bold, name) in zip(beat.lines, sizes, strict=True)
        if text
    ]


def write(picture: Indices, caption: Caption, layout: Layout) -> Written:
    """Lay a caption on a map."""
    box = caption.plate.box
    framed(picture, box, "paper")
    top, left = box[1] + layout.px(_INSIDE_PX), box[0] + layout.px(_INSIDE_PX)
    for text, size, bold, name in _fitted(caption.beat, layout):
        letters = lettered(text, size, bold)
        lift = (letters.shape[0] - round(size * _LEADING)) // 2
        put_levels(picture, letters, left, top - lift, name)
        top += round(size * _LEADING)
    return Written(" / ".join(caption.beat.lines), box)


def framed(picture: Indices, box: Box, name: str) -> None:
    """A plate of one ink with a thin dark edge; the map under it is gone."""
    left, top, right, bottom = box
    picture[top:bottom, left:right] = ink("text")
    picture[top + 1 : bottom - 1, left + 1 : right - 1] = ink(name)
