"""Names on a drawn map: each beside its place, none over another or over the course."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.charts.chart import chart_ink
from simrun.pictures.ink.placing import Box, box_at, clearest, overlap

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

DISTANCES_PT = (5, 10, 17, 26, 38, 54, 74, 98, 126)
WAYS = tuple((float(np.cos(a)), float(np.sin(a))) for a in np.arange(16) * np.pi / 8)
GAP_PT = 4.0
LINE_FROM_PT = 9


@dataclass(frozen=True)
class Label:
    """A name at a place (2,) of the map; dot: the sign that stands there, or none."""

    text: str
    point_m: Array
    bold: bool = False
    dot: str = ""
    ink: str = "text"


def place_labels(axes: Axes, labels: list[Label], path_m: Array, size_pt: float) -> list[Box]:
    """Write the names, the first ones first; gives their boxes in pixels.

    Where no room is, none is written.
    """
    pixel = axes.figure.get_dpi() / 72
    path = axes.transData.transform(path_m)
    frame = axes.get_window_extent()
    dots = axes.transData.transform(np.array([label.point_m for label in labels]))
    taken: list[Box] = []
    lines: list[Array] = []
    for label, dot in zip(labels, dots, strict=True):
        text = axes.text(0, 0, label.text, fontsize=size_pt, zorder=6, color=chart_ink(label.ink))
        text.set_fontweight("bold" if label.bold else "normal")
        extent = text.get_window_extent()
        found = _free(dot, (extent.width, extent.height), taken, (frame, path, dots, lines, pixel))
        if found is None:
            text.remove()
            continue
        box, reach = found
        taken.append(box)
        text.set_position(tuple(axes.transData.inverted().transform(box[:2])))
        text.set_verticalalignment("bottom")
        if reach > LINE_FROM_PT:
            lines.append(_line(axes, box, dot))
    return taken


def _free(
    dot: Array, size: tuple[float, float], taken: list[Box], seen: Any
) -> tuple[Box, float] | None:
    """The nearest free box beside a place, and how far it is; None where there is none."""
    pixel = seen[-1]
    extent = np.ceil(np.array(size))
    ways = [np.array(way) * reach * pixel for reach, way in product(DISTANCES_PT, WAYS)]
    boxes = [box_at(dot, extent, way) for way in ways]
    best = clearest(boxes, lambda box: _is_free(box, dot, taken, seen), 1.0, 1.0)
    return None if best is None else (boxes[best], float(np.hypot(*ways[best])) / pixel)


def _is_free(box: Box, dot: Array, taken: list[Box], seen: Any) -> float:
    """1 where the box lies inside, over nothing, and the line to its place crosses no name; else 0."""
    frame, path, dots, lines, pixel = seen
    gap = GAP_PT * pixel
    inside = frame.x0 <= box[0] and box[2] <= frame.x1
    inside = inside and frame.y0 <= box[1] and box[3] <= frame.y1
    if not inside or any(overlap(box, other, gap) for other in taken):
        return 0.0
    line = _points_between(_near(box, dot), dot)
    crossed = any(_within(line, other, gap).any() for other in taken)
    hidden = any(_within(points, box, gap).any() for points in (path, dots, *lines))
    return 0.0 if crossed or hidden else 1.0


def _within(points: Array, box: Box, gap: float) -> NDArray[np.bool_]:
    across = (points[:, 0] > box[0] - gap) & (points[:, 0] < box[2] + gap)
    return across & (points[:, 1] > box[1] - gap) & (points[:, 1] < box[3] + gap)


def _near(box: Box, dot: Array) -> Array:
    return np.clip(dot, box[:2], box[2:])


def _points_between(one: Array, other: Array) -> Array:
    return one + np.linspace(0, 1, 12)[:, None] * (other - one)


def _line(axes: Axes, box: Box, dot: Array) -> Array:
    """A thin line from a name to its place; gives points of it in pixels."""
    points = _points_between(_near(box, dot), dot)
    ends = axes.transData.inverted().transform(points[[0, -1]])
    axes.plot(*ends.T, color=chart_ink("muted"), linewidth=0.5, zorder=4)
    return points
