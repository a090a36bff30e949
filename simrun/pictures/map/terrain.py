"""What does the ground look like? The course and its edges, drawn by matplotlib for one window."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import Box, StartLine
from simrun.course.strip import Strip
from simrun.pictures.ink.colours import INKS, Indices, indexed
from simrun.pictures.map.edges import Stroke, around, edge_strokes

if TYPE_CHECKING:
    from matplotlib.backend_bases import GraphicsContextBase
    from matplotlib.backends.backend_agg import RendererAgg
    from matplotlib.transforms import Affine2D

Array = NDArray[np.float64]

_DOTS_AN_INCH = 72
"""At which a point is a pixel."""

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
        self._pieces_m = _pieces(self.strip)
        self._piece_low, self._piece_high = self._pieces_m.min(axis=1), self._pieces_m.max(axis=1)
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
        """Draw a window with matplotlib, (H, W) palette entries.

        With its renderer alone: a figure with axes around it costs three times as much.
        """
        from matplotlib.backends.backend_agg import RendererAgg

        renderer = RendererAgg(window.width_px, window.height_px, _DOTS_AN_INCH)
        near = _near(self._piece_low, self._piece_high, window)
        _fill(renderer, _whole(window), "ground")
        _fill(renderer, window.pixels(self._pieces_m[near]), "course")
        for index in np.flatnonzero(_near(self._stroke_low, self._stroke_high, window)):
            self._draw(renderer, window, self._strokes[index])
        return indexed(np.asarray(renderer.buffer_rgba()))

    def _draw(self, renderer: RendererAgg, window: Window, stroke: Stroke) -> None:
        from matplotlib.path import Path

        pen, width = _pen(renderer, stroke.ink), stroke.width_px * self.type_scale
        pen.set_linewidth(width)
        if not isinstance(stroke.dashes, str):
            offset, lengths = stroke.dashes
            pen.set_dashes(offset, [length * width for length in lengths])
        points = window.pixels(stroke.points_m)
        renderer.draw_path(pen, Path(points), _upright(renderer))


def _whole(window: Window) -> Array:
    """The window itself as one piece, (1, 4, 2) pixels."""
    wide, high = float(window.width_px), float(window.height_px)
    return np.array([[[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]]])


def _fill(renderer: RendererAgg, pieces: Array, name: str) -> None:
    """Fill many pieces (M, P, 2) of one direction of turning in one go: neighbours leave no seam."""
    from matplotlib.path import Path

    count, corners = pieces.shape[:2]
    codes = np.full((count, corners + 1), Path.LINETO, dtype=np.uint8)
    codes[:, 0], codes[:, -1] = Path.MOVETO, Path.CLOSEPOLY
    closed = np.concatenate([pieces, pieces[:, :1]], axis=1).reshape(-1, 2)
    pen = _pen(renderer, name)
    pen.set_linewidth(0)
    renderer.draw_path(pen, Path(closed, codes.ravel()), _upright(renderer), _colour(name))


def _pen(renderer: RendererAgg, name: str) -> GraphicsContextBase:
    pen = renderer.new_gc()
    pen.set_foreground(_colour(name))
    pen.set_snap(False)  # in a glide, edges would jump from pixel to pixel
    return pen


def _upright(renderer: RendererAgg) -> Affine2D:
    """From rows that count downwards to a renderer that counts upwards."""
    from matplotlib.transforms import Affine2D

    return Affine2D().scale(1, -1).translate(0, renderer.height)


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


def _pieces(strip: Strip) -> Array:
    """Every cell as two triangles that turn the same way, (2 (K-1), 3, 2): what is laid twice stays."""
    left, right = strip.left_m, strip.right_m
    one = np.stack([left[:-1], left[1:], right[1:]], axis=1)
    other = np.stack([left[:-1], right[1:], right[:-1]], axis=1)
    pieces = np.concatenate([one, other])
    (x1, y1), (x2, y2) = (pieces[:, 1] - pieces[:, 0]).T, (pieces[:, 2] - pieces[:, 0]).T
    turned = x1 * y2 - x2 * y1 < 0
    pieces[turned] = pieces[turned, ::-1]
    return pieces


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
