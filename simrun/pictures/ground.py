"""What does the ground look like? The course and its edges, drawn by matplotlib for one window."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import Box, StartLine
from simrun.course.strip import Strip
from simrun.pictures.colours import INKS, Indices, indexed
from simrun.pictures.edges import Stroke, around, edge_strokes

Array = NDArray[np.float64]

TILE_PX = 512
KEPT_TILES = 48

BOX_DEPTH_M = 2.5
"""The box lines are drawn back from the start line at least so far, and behind the last row."""


@dataclass(frozen=True)
class Window:
    """A piece of the plane: pixels a metre, and the pixel column and row of its top left corner.

    Column = scale x, row = -scale y: the race runs to the right first, and left is up.
    """

    scale_px_m: float
    column: int
    row: int
    width_px: int
    height_px: int

    def pixels(self, point_m: Array) -> Array:
        """Where in the window are these points (..., 2)? Column and row, not rounded."""
        return np.asarray(point_m) * [self.scale_px_m, -self.scale_px_m] - [self.column, self.row]


@dataclass
class Ground:
    """The ground of one race at any zoom; keeps the tiles that were drawn last."""

    strip: Strip
    start: StartLine
    type_scale: float = 1.0
    box_depth_m: float = BOX_DEPTH_M
    _tiles: OrderedDict[tuple[float, int, int], Indices] = field(default_factory=OrderedDict)

    def __post_init__(self) -> None:
        self._cells_m = _cells(self.strip)
        self._cell_low, self._cell_high = self._cells_m.min(axis=1), self._cells_m.max(axis=1)
        self._strokes = [
            *edge_strokes(self.strip),
            *_paint(self.strip, self.start, self.box_depth_m),
        ]
        self._stroke_low = np.array([stroke.points_m.min(axis=0) for stroke in self._strokes])
        self._stroke_high = np.array([stroke.points_m.max(axis=0) for stroke in self._strokes])

    def seen(self, window: Window, *, tiled: bool) -> Indices:
        """The ground in a window, in palette entries (H, W): from kept tiles, or drawn for once."""
        if not tiled:
            return self.drawn(window)
        picture = np.empty((window.height_px, window.width_px), dtype=np.uint8)
        for row in range(window.row // TILE_PX, (window.row + window.height_px - 1) // TILE_PX + 1):
            first, last = window.column // TILE_PX, (window.column + window.width_px - 1) // TILE_PX
            for column in range(first, last + 1):
                self._paste(picture, window, column, row)
        return picture

    def _paste(self, picture: Indices, window: Window, column: int, row: int) -> None:
        tile = self._tile(window.scale_px_m, column, row)
        left, top = column * TILE_PX - window.column, row * TILE_PX - window.row
        to_row = slice(max(top, 0), min(top + TILE_PX, window.height_px))
        to_column = slice(max(left, 0), min(left + TILE_PX, window.width_px))
        picture[to_row, to_column] = tile[
            to_row.start - top : to_row.stop - top, to_column.start - left : to_column.stop - left
        ]

    def _tile(self, scale: float, column: int, row: int) -> Indices:
        key = (scale, column, row)
        if key not in self._tiles:
            window = Window(scale, column * TILE_PX, row * TILE_PX, TILE_PX, TILE_PX)
            self._tiles[key] = self.drawn(window)
            if len(self._tiles) > KEPT_TILES:
                self._tiles.popitem(last=False)
        self._tiles.move_to_end(key)
        return self._tiles[key]

    def drawn(self, window: Window) -> Indices:
        """Draw a window with matplotlib, (H, W) palette entries."""
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.collections import LineCollection, PolyCollection
        from matplotlib.figure import Figure

        figure = Figure(figsize=(window.width_px / 72, window.height_px / 72), dpi=72)
        canvas = FigureCanvasAgg(figure)
        figure.patch.set_facecolor(_colour("ground"))
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        axes.set_xlim(0, window.width_px)
        axes.set_ylim(window.height_px, 0)
        course = _colour("course")
        cells = window.pixels(self._cells_m[_near(self._cell_low, self._cell_high, window)])
        axes.add_collection(
            PolyCollection(list(cells), facecolors=course, edgecolors=course, linewidths=1.0),
            autolim=False,
        )
        near = np.flatnonzero(_near(self._stroke_low, self._stroke_high, window))
        strokes = [self._strokes[index] for index in near]
        axes.add_collection(
            LineCollection(
                [window.pixels(stroke.points_m) for stroke in strokes],
                colors=[_colour(stroke.ink) for stroke in strokes],
                linewidths=[stroke.width_px * self.type_scale for stroke in strokes],
                linestyles=[stroke.dashes for stroke in strokes],
                capstyle="butt",
            ),
            autolim=False,
        )
        canvas.draw()
        return indexed(np.asarray(canvas.buffer_rgba())[..., :3])


def _colour(name: str) -> tuple[float, float, float]:
    red, green, blue = INKS[name]
    return red / 255, green / 255, blue / 255


def _near(low_m: Array, high_m: Array, window: Window) -> NDArray[np.bool_]:
    """What lies in the window, or within a few pixels of it?"""
    spare = 8 / window.scale_px_m
    left, top = window.column / window.scale_px_m, -window.row / window.scale_px_m
    right = left + window.width_px / window.scale_px_m
    bottom = top - window.height_px / window.scale_px_m
    across = (high_m[:, 0] >= left - spare) & (low_m[:, 0] <= right + spare)
    return across & (high_m[:, 1] >= bottom - spare) & (low_m[:, 1] <= top + spare)


def _cells(strip: Strip) -> Array:
    """The four corners of every cell, (K-1, 4, 2)."""
    left, right = strip.left_m, strip.right_m
    return np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1)


def _paint(strip: Strip, start: StartLine, box_depth_m: float) -> list[Stroke]:
    """The start line with its boxes, the checkpoints, the finish, and things in the way."""
    cuts = {int(cut) for cut in strip.checkpoint_cuts()} if strip.checkpoints else set()
    across = [np.array([strip.left_m[cut], strip.right_m[cut]]) for cut in sorted(cuts)]
    strokes = [Stroke(line, "line", 2.0, (0, (1.0, 1.6))) for line in across]
    finish = np.array([strip.left_m[strip.finish_cut], strip.right_m[strip.finish_cut]])
    strokes += [Stroke(finish, "text", 5.0), Stroke(finish, "paper", 3.0, (0, (1.0, 1.0)))]
    strokes += [Stroke(line, "line", 1.3) for line in _box_lines(start, box_depth_m)]
    strokes.append(Stroke(start.line_m, "text", 2.6))
    return strokes + [
        Stroke(around(thing[:2], thing[2]), "barrier", 3.2) for thing in strip.obstacles_m
    ]


def _box_lines(start: StartLine, depth_m: float) -> list[Array]:
    corners = [box.left_m for box in start.boxes] + [box.right_m for box in start.boxes[-1:]]
    behind = [backward(start.boxes[min(i, len(start.boxes) - 1)]) for i in range(len(corners))]
    return [
        np.array([corner, corner + depth_m * back])
        for corner, back in zip(corners, behind, strict=True)
    ]


def backward(box: Box) -> Array:
    """The unit vector from a box's line back to where its runners wait, (2,)."""
    across = box.right_m - box.left_m
    return np.array([across[1], -across[0]]) / np.hypot(*across)
