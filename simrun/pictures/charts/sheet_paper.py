"""A sheet of paper that is written on: texts of a measured width, none outside its margins."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

from simrun.pictures.charts.chart import blank_figure, chart_ink

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
"""Width and height in inches."""

POINTS_AN_INCH = 72.0
MEASURED_AT = 720.0
"""So many dots an inch measure a letter: at 72 its width would be rounded to whole points."""

STEP_OF_SIZE = 1.25
"""From line to line, in sizes of the letters."""

UNIT = re.compile(r"(\d) (m|yd|ft|s|km)\b")
"""A number and its unit stay on one line."""

Box = tuple[float, float, float, float]


@lru_cache(maxsize=4096)
def text_width_in(text: str, size_pt: float, bold: bool = False) -> float:
    """How wide is this text on paper? Inches, by the letters' own widths."""
    renderer, letters = _measuring(size_pt, bold)
    width, _, _ = renderer.get_text_width_height_descent(text, letters, ismath=False)
    return float(width) / MEASURED_AT


@lru_cache(maxsize=64)
def _measuring(size_pt: float, bold: bool) -> tuple[Any, Any]:
    from matplotlib.backends.backend_agg import RendererAgg
    from matplotlib.font_manager import FontProperties

    weight = "bold" if bold else "normal"
    return RendererAgg(8, 8, MEASURED_AT), FontProperties(size=size_pt, weight=weight)


def wrapped(text: str, width_in: float, size_pt: float, bold: bool = False) -> list[str]:
    """The text in lines that are no wider than this; a word that is wider alone is cut and ends in dots."""
    lines: list[str] = []
    for word in UNIT.sub("\\1\N{NO-BREAK SPACE}\\2", text).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_in(longer, size_pt, bold) <= width_in:
            lines[-1] = longer
        else:
            lines.append(clipped_to(word, width_in, size_pt, bold))
    return lines


def clipped_to(text: str, width_in: float, size_pt: float, bold: bool = False) -> str:
    """The text, or so much of it as is no wider than this, with dots at its end."""
    if text_width_in(text, size_pt, bold) <= width_in:
        return text
    kept = text
    while kept and text_width_in(f"{kept}\N{HORIZONTAL ELLIPSIS}", size_pt, bold) > width_in:
        kept = kept[:-1].rstrip()
    return f"{kept}\N{HORIZONTAL ELLIPSIS}"


@dataclass(frozen=True)
class Line:
    """One line of text of a size in points."""

    text: str
    size_pt: float
    bold: bool = False
    ink: str = "text"

    @property
    def high_in(self) -> float:
        """How high is it, with the room to the next?"""
        return self.size_pt * STEP_OF_SIZE / POINTS_AN_INCH

    @property
    def wide_in(self) -> float:
        """How wide is it?"""
        return text_width_in(self.text, self.size_pt, self.bold)


@dataclass
class Paper:
    """One sheet. Places are inches from its left and its upper edge. written: every text with its box."""

    name: str
    written: list[tuple[str, Box]] = field(default_factory=list)

    @cached_property
    def figure(self) -> Figure:
        """What is drawn on; made when the first thing is."""
        return blank_figure(*self.size_in, constrained=False)

    @property
    def size_in(self) -> tuple[float, float]:
        """Width and height in inches."""
        return PAPERS[self.name]

    def write(self, line: Line, left_in: float, top_in: float, align: str = "left") -> None:
        """Write a line whose upper edge is here; left_in is its middle or right end as `align` says."""
        wide, high = self.size_in
        left = left_in - {"left": 0.0, "center": 0.5, "right": 1.0}[align] * line.wide_in
        self.written.append((line.text, (left, top_in, left + line.wide_in, top_in + line.high_in)))
        base_in = top_in + line.size_pt / POINTS_AN_INCH
        self.figure.text(
            left / wide,
            1 - base_in / high,
            plain(line.text),
            fontsize=line.size_pt,
            weight="bold" if line.bold else "normal",
            color=chart_ink(line.ink),
        )

    def rule(self, left_in: float, right_in: float, top_in: float, thick_pt: float = 0.6) -> None:
        """A thin line across."""
        from matplotlib.lines import Line2D

        wide, high = self.size_in
        ends, y = [left_in / wide, right_in / wide], 1 - top_in / high
        self.figure.add_artist(Line2D(ends, [y, y], color=chart_ink("rule"), linewidth=thick_pt))

    def shade(self, box: Box, ink: str) -> None:
        """A plain rectangle of this ink: left, top, right, bottom in inches."""
        from matplotlib.patches import Rectangle

        wide, high = self.size_in
        left, top, right, bottom = box
        corner = (left / wide, 1 - bottom / high)
        size = ((right - left) / wide, (bottom - top) / high)
        self.figure.add_artist(
            Rectangle(corner, *size, facecolor=chart_ink(ink), edgecolor="none", zorder=0)
        )

    def axes(self, box: Box) -> Any:
        """A picture's place: left, top, right, bottom in inches."""
        wide, high = self.size_in
        left, top, right, bottom = box
        where = (left / wide, 1 - bottom / high, (right - left) / wide, (bottom - top) / high)
        return self.figure.add_axes(where)

    def pdf(self) -> bytes:
        """The sheet as a PDF; the same sheet gives the same bytes."""
        return pdf_of(self.figure)


def plain(text: str) -> str:
    """A dollar sign is a dollar sign, not the start of a formula."""
    return text.replace("$", r"\$")


def pdf_of(figure: Figure) -> bytes:
    """A figure as one page of PDF; the same figure gives the same bytes."""
    stream = io.BytesIO()
    figure.savefig(stream, format="pdf", metadata={"CreationDate": None, "Producer": None})
    return stream.getvalue()
