"""The team's box from above, with the names in their rows as they stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of
from simrun.pictures.charts.sheet_paper import clipped_to, plain, text_width_in, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SMALLEST_PT, LARGEST_PT = 8.0, 12.0
ROW_IN, LINE_IN = 0.32, 0.135
BESIDE_SHARE = 0.22
"""So much of the picture's width is left on either side for the neighbours."""


@dataclass(frozen=True)
class Standing:
    """What is drawn: names row by row, the front row first and each from the left, facing the course.

    box: what the box is called; left, right: who stands beside it; ahead: what they run to.
    """

    rows: tuple[tuple[str, ...], ...]
    box: str
    left: str = ""
    right: str = ""
    ahead: str = ""


def box_high_in(standing: Standing) -> float:
    """How high is the drawing, in inches?"""
    return 0.62 + ROW_IN * len(standing.rows)


def draw_box(axes: Axes, standing: Standing, wide_in: float) -> list[float]:
    """Draw it into axes as wide as this and `box_high_in` high; gives the sizes of the names in points."""
    high = box_high_in(standing)
    axes.set_xlim(0, wide_in)
    axes.set_ylim(high, 0)
    axes.set_axis_off()
    side, top = BESIDE_SHARE * wide_in, 0.34
    deep = top + ROW_IN * len(standing.rows) + 0.06
    axes.fill(
        [side, wide_in - side, wide_in - side, side],
        [top, top, deep, deep],
        facecolor=chart_ink("ground"),
        edgecolor=chart_ink("text"),
        linewidth=0.8,
    )
    axes.plot(
        [0, wide_in], [top, top], color=chart_ink("text"), linewidth=2.4, solid_capstyle="butt"
    )
    _arrow(axes, wide_in / 2, top)
    axes.text(wide_in / 2 + 0.14, 0.15, plain(standing.ahead), fontsize=9, va="center")
    axes.text(
        wide_in / 2,
        deep + 0.13,
        plain(standing.box),
        fontsize=9,
        weight="bold",
        ha="center",
        va="center",
    )
    for word, x, align in (
        (standing.left, side - 0.06, "right"),
        (standing.right, wide_in - side + 0.06, "left"),
    ):
        for k, part in enumerate(_two_lines(word)):
            part = clipped_to(part, side - 0.08, SMALLEST_PT)
            axes.text(
                x,
                top + 0.18 + 0.15 * k,
                plain(part),
                fontsize=SMALLEST_PT,
                ha=align,
                va="center",
                color=chart_ink("muted"),
            )
    most = max(len(row) for row in standing.rows)
    across = (side, wide_in - side)
    return [
        _row(axes, row, across, (top + ROW_IN * (k + 0.55), most))
        for k, row in enumerate(standing.rows)
    ]


def _row(
    axes: Axes, names: tuple[str, ...], across: tuple[float, float], where: tuple[float, int]
) -> float:
    """One row of names about the middle of the box, as large as they fit. where: height, most abreast."""
    y, most = where
    place, middle = (across[1] - across[0]) / most, (across[0] + across[1]) / 2
    size = LARGEST_PT
    while size > SMALLEST_PT and max(text_width_in(n, size, True) for n in names) > place - 0.08:
        size -= 0.5
    for k, name in enumerate(names):
        x = middle + place * (k + 0.5 - len(names) / 2)
        lines = wrapped(name, place - 0.04, size, True)[:2]
        for i, part in enumerate(lines):
            axes.text(
                x,
                y + LINE_IN * (i - (len(lines) - 1) / 2),
                plain(part),
                fontsize=size,
                weight="bold",
                ha="center",
                va="center",
                color=chart_ink("ours"),
            )
    return size


def _arrow(axes: Axes, x: float, foot: float) -> None:
    axes.annotate(
        "",
        (x, 0.02),
        (x, foot - 0.04),
        arrowprops={"arrowstyle": "-|>", "color": chart_ink("text"), "linewidth": 1.4},
    )


def _two_lines(word: str) -> list[str]:
    """A long name on two lines."""
    first, _, rest = word.partition(" ")
    return [part for part in (first, rest) if part]


def box_picture(standing: Standing) -> bytes:
    """The same as a PNG, for a phone."""
    wide = 3.6
    figure = blank_figure(wide, box_high_in(standing), constrained=False)
    draw_box(figure.add_axes((0, 0, 1, 1)), standing, wide)
    return png_of(figure, 220)
