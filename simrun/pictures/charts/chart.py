"""How is a chart made? An empty figure that no window ever sees, our inks, and the bytes of its picture."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Literal

from simrun.pictures.ink.colours import INKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

COLOUR_MAP = "cividis"
"""Runs from dark blue to yellow, ever lighter, and reads alike with any colour vision."""

DOTS_A_INCH = 110


def chart_ink(name: str) -> tuple[float, float, float]:
    red, green, blue = INKS[name]
    return red / 255, green / 255, blue / 255


def blank_figure(width_inch: float, height_inch: float, *, constrained: bool = True) -> Figure:
    """An empty figure that no window ever sees."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    layout: Literal["constrained"] | None = "constrained" if constrained else None
    figure = Figure(figsize=(width_inch, height_inch), dpi=DOTS_A_INCH, layout=layout)
    FigureCanvasAgg(figure)
    return figure


def picture_in(png: bytes, axes: Axes | None = None) -> Axes:
    """A finished picture in somebody's axes, or in new ones of its own size; gives the axes."""
    from matplotlib.image import imread

    pixels = imread(io.BytesIO(png), format="png")
    if axes is None:
        height, width = (size / DOTS_A_INCH for size in pixels.shape[:2])
        axes = blank_figure(width, height, constrained=False).add_axes((0.0, 0.0, 1.0, 1.0))
    axes.imshow(pixels)
    axes.set_axis_off()
    return axes


def png_of(figure: Figure, dots_a_inch: int = DOTS_A_INCH) -> bytes:
    """The picture as a PNG; the same figure gives the same bytes."""
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=dots_a_inch, metadata={"Software": None})
    return stream.getvalue()
