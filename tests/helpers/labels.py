"""Where does every text of a drawn sheet lie? Measured by the letters as they are drawn."""

from __future__ import annotations

from itertools import combinations
from typing import Any

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

Box = tuple[float, float, float, float]
MEASURED_AT = 300
"""So many dots an inch: on a coarse grid letters are wider than on paper."""

TOUCH_PX = 3.0
"""Letters may touch by so much: extents are rounded outwards."""


def texts_of(figure: Any) -> list[tuple[str, Box, float]]:
    """Every text to be seen: its words, its box (left, low, right, high) in pixels, its size in points."""
    figure.set_dpi(MEASURED_AT)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    found = []
    for text in figure.findobj(Text):
        if text.get_visible() and text.get_text().strip():
            box = text.get_window_extent(canvas.get_renderer())
            found.append((text.get_text(), (box.x0, box.y0, box.x1, box.y1), text.get_fontsize()))
    return found


def overlapping(texts: list[tuple[str, Box, float]]) -> list[tuple[str, str]]:
    """Which two lie over one another?"""
    return [
        (one[0], other[0])
        for one, other in combinations(texts, 2)
        if _shared(one[1], other[1]) > TOUCH_PX
    ]


def _shared(one: Box, other: Box) -> float:
    across = min(one[2], other[2]) - max(one[0], other[0])
    up = min(one[3], other[3]) - max(one[1], other[1])
    return min(across, up)


def outside(figure: Any, texts: list[tuple[str, Box, float]], margin_in: float = 0.0) -> list[str]:
    """Which lie beyond the sheet, or beyond its margins?"""
    dots = figure.get_dpi()
    wide, high = figure.get_size_inches() * dots
    edge = margin_in * dots - TOUCH_PX
    return [
        text
        for text, box, _ in texts
        if box[0] < edge or box[1] < edge or box[2] > wide - edge or box[3] > high - edge
    ]
