"""Who is held up when somebody is down? The ripple in the field, and where it is, as one picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.answers.disturb.held_up import RECALL_WINDOW_M, Held
from simrun.base.units import length_text
from simrun.course.strip import Strip
from simrun.engine.down import Down
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

SHOWN_M = 60.0


def ripple_chart(strip: Strip, held: Held, units: str) -> bytes:
    """Delay of every runner against when they would have passed, and the point on the course."""
    down = held.down
    after_s = (held.passed_s - held.from_s[:, None]).ravel()
    figure = blank_figure(9.0, 4.4)
    above, below = figure.subplots(1, 2, width_ratios=[3, 1])
    above.axvspan(0, down.for_s, color=chart_ink("rule"), alpha=0.6, label="somebody is down")
    above.scatter(
        after_s, held.delay_s.ravel(), s=9, color=chart_ink("ours"), label="one runner in one race"
    )
    above.axhline(0, color=chart_ink("muted"), linewidth=0.8)
    above.set_xlim(-15, max(down.for_s + 40.0, 60.0))
    above.set_xlabel("seconds after somebody went down at which the runner would have passed")
    above.set_ylabel("seconds later")
    above.legend(fontsize=8, frameon=False, loc="upper right")
    above.spines[["top", "right"]].set_visible(False)
    _course(below, strip, down, units)
    return png_of(figure)


def _course(axes: Axes, strip: Strip, down: Down, units: str) -> None:
    """The course about the point; hatched where a recall is known."""
    at_m, window_m = down.at_m, RECALL_WINDOW_M
    first, last = strip.station_m[[0, -1]]
    left, right = _edges(strip, max(first, at_m - SHOWN_M), min(last, at_m + SHOWN_M))
    axes.fill(*np.concatenate([left, right[::-1]]).T, color=chart_ink("course"))
    for edge in (left, right):
        axes.plot(*edge.T, color=chart_ink("line"), linewidth=1.2)
    if at_m - SHOWN_M < window_m:
        left, right = _edges(strip, max(0.0, at_m - SHOWN_M), min(window_m, at_m + SHOWN_M))
        axes.fill(
            *np.concatenate([left, right[::-1]]).T,
            facecolor="none",
            edgecolor=chart_ink("line"),
            hatch="//",
            linewidth=0.0,
        )
        axes.text(
            *(0.5, -0.02),
            f"hatched: the first {length_text(window_m, units)},\nwhere a recall is known",
            transform=axes.transAxes,
            ha="center",
            va="top",
            fontsize=8,
        )
    axes.plot(
        *strip.point_at(at_m, down.share), marker="X", markersize=11, color=chart_ink("slowed")
    )
    axes.set_title(f"down at {length_text(at_m, units)}", fontsize=9)
    axes.set_aspect("equal")
    axes.set_axis_off()


def _edges(strip: Strip, first_m: float, last_m: float) -> tuple[Array, Array]:
    """Both edges of a stretch, a point a metre: (P, 2) each."""
    stations = np.linspace(first_m, last_m, 2 + int(last_m - first_m))
    left = np.array([strip.point_at(float(at), 0.0) for at in stations])
    right = np.array([strip.point_at(float(at), 1.0) for at in stations])
    return left, right
