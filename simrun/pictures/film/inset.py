"""What happens at the turn while the camera is elsewhere? A small picture in the picture.

Shown while somebody runs there and the large picture does not show it, or only from far away.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.course.strip import Gate, Strip
from simrun.pictures.ink.colours import Indices
from simrun.pictures.ink.lettering import clipped, lettered
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.stamps import put_levels
from simrun.pictures.map.labels import Written
from simrun.pictures.map.plates import Mask, Pixels, Plate, hides, settled, stretches
from simrun.pictures.map.terrain import Window
from simrun.pictures.story.captions import framed
from simrun.pictures.story.script import deciding_cut, first_gate

Array = NDArray[np.float64]

_WIDTH_PX, _HEIGHT_PX, _TITLE_PX = 190, 132, 18
_MOST_SHARE = 0.44
"""Of the width of the map."""

_COURSE_WIDTHS, _LEAST_M, _MOST_M = 2.2, 24.0, 50.0
"""The small picture shows so many widths of the course, within these bounds."""

_FAR_SHARE = 0.6
"""From far away: the large picture shows the turn at less than this share of the small one's zoom."""

SHORTEST_S = 2.0
"""On the screen; what is shorter is left out, and a shorter break is bridged."""


@dataclass(frozen=True)
class Inset:
    """The turn, the window that shows it, and the plates on which it is shown."""

    name: str
    window: Window
    plates: tuple[Plate, ...]
    title_px: int

    def at(self, frame: int) -> Plate | None:
        """The plate of this frame, if it is shown."""
        return next((plate for plate in self.plates if plate.shows(frame)), None)

    def paste(self, picture: Indices, plate: Plate, inside: Indices, size_px: int) -> Written:
        """Lay the small picture on the map, its name above it."""
        left, top, right, bottom = plate.box
        framed(picture, plate.box, "paper")
        text = clipped(self.name, size_px, right - left - 10, True)
        letters = lettered(text, size_px, True)
        row = top + 1 + (self.title_px - letters.shape[0]) // 2
        put_levels(picture, letters, left + 6, row, "text")
        picture[top + self.title_px : bottom - 1, left + 1 : right - 1] = inside
        return Written(text, plate.box)


def turn_called(strip: Strip, name: str | None) -> Gate | None:
    """The turn or throat with this name, None = the first turn. Raises BadInput."""
    if name is None:
        return first_gate(strip, turn=True)
    found = next((gate for gate in strip.gates if gate.name == name), None)
    if found is None:
        names = [gate.name for gate in strip.gates]
        near = nearest_word(name, names)
        allowed = "a turn or throat of this course" if names else "this course has no turn to show"
        raise BadInput(Problem("inset", f"no {name!r} on this course", allowed, near))
    return found


def inset(
    strip: Strip,
    gate: Gate,
    layout: Layout,
    people: tuple[Pixels, Mask],
    position_m: Array,
    window_of: Callable[[int], Window],
    least_frames: int,
) -> Inset:
    """The small picture of a gate for drawn positions (F, N, 2) under windows of the large one."""
    window = _window(strip, gate, layout)
    middle_m = _middle_m(strip, gate)
    seen = [_seen(window, middle_m, window_of(frame)) for frame in range(len(position_m))]
    wanted = _anybody(window, position_m) & ~np.array(seen)
    title = layout.px(_TITLE_PX)
    extent = (window.width_px + 2, window.height_px + title + 1)
    plates: list[Plate] = []
    for first, last in _bridged(wanted, least_frames):
        plate = settled((first, last), extent, layout, people)
        if plate:
            plates += _clear(plate, people, least_frames)
    return Inset(gate.name, window, tuple(plates), title)


def _middle_m(strip: Strip, gate: Gate) -> Array:
    cut = deciding_cut(strip, gate)
    return np.asarray(strip.middle_m[cut])


def _window(strip: Strip, gate: Gate, layout: Layout) -> Window:
    """Centred on the gate, with the ground before and behind it."""
    wide = min(layout.px(_WIDTH_PX), int(_MOST_SHARE * layout.map_width_px))
    high = layout.px(_HEIGHT_PX)
    shown_m = np.clip(_COURSE_WIDTHS * strip.width_m[deciding_cut(strip, gate)], _LEAST_M, _MOST_M)
    scale = high / float(shown_m)
    x, y = _middle_m(strip, gate) * scale
    return Window(scale, round(x - wide / 2), round(-y - high / 2), wide, high)


def _anybody(window: Window, position_m: Array) -> Mask:
    """In which frames is somebody in the window? (F,)"""
    pixel = window.pixels(position_m)
    size = np.array([window.width_px, window.height_px])
    inside = ((pixel > 0) & (pixel < size)).all(axis=2)
    return np.asarray(np.any(inside, axis=1))


def _seen(window: Window, middle_m: Array, large: Window) -> bool:
    """Does the large picture show the same place, and not from far away?"""
    spot = large.pixels(middle_m)
    inside = (spot > 0).all() and (spot < [large.width_px, large.height_px]).all()
    return bool(inside and large.scale_px_m >= _FAR_SHARE * window.scale_px_m)


def _bridged(wanted: Mask, least_frames: int) -> list[tuple[int, int]]:
    """The stretches of frames, with short breaks bridged and short stretches left out."""
    found: list[tuple[int, int]] = []
    for first, last in stretches(wanted):
        if found and first - found[-1][1] < least_frames:
            first = found.pop()[0]
        found.append((first, last))
    return [(first, last) for first, last in found if last - first >= least_frames]


def _clear(plate: Plate, people: tuple[Pixels, Mask], least_frames: int) -> list[Plate]:
    """The same plate without the frames in which it would hide one of those followed."""
    pixels, theirs = people
    frames = range(plate.first, plate.last)
    free = np.array([not hides(plate.box, pixels(frame)[theirs]).any() for frame in frames])
    pairs = [(a + plate.first, b + plate.first) for a, b in stretches(free)]
    return [Plate(a, b, plate.box) for a, b in pairs if b - a >= least_frames]
