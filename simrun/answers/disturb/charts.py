"""Who is held up when somebody is down? The ripple in the field, and where it is, as one picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Strip
from simrun.pictures.charts.box_charts import blank_figure, chart_ink

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

SHOWN_M = 60.0


def ripple(
    strip: Strip,
    point_m: tuple[float, float],
    at_m: float,
    after_s: Array,
    delay_s: Array,
    for_s: float,
    window_m: float,
) -> Figure:
    """Delay of every runner against when they would have passed, and the point on the course.

    after_s, delay_s (M,): seconds after somebody went down at which each would have passed; how much later
    each passed. window_m: the stretch after the start in which a recall is known.
    """
    figure = blank_figure(9.0, 4.4)
    above, below = figure.subplots(1, 2, width_ratios=[3, 1])
    above.axvspan(0, for_s, color=chart_ink("rule"), alpha=0.6, label="somebody is down")
    above.scatter(after_s, delay_s, s=9, color=chart_ink("ours"), label="one runner in one race")
    above.axhline(0, color=chart_ink("muted"), linewidth=0.8)
    above.set_xlim(-15, max(for_s + 40.0, 60.0))
    above.set_xlabel("seconds after somebody went down at which the runner would have passed")
    above.set_ylabel("seconds later")
    above.legend(fontsize=8, frameon=False, loc="upper right")
    above.spines[["top", "right"]].set_visible(False)
    _course(below, strip, point_m, at_m, window_m)
    return figure


def _course(
    axes: Axes, strip: Strip, point_m: tuple[float, float], at_m: float, window_m: float
) -> None:
    """The course about the point; hatched where a recall is known."""
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
            f"hatched: the first {window_m:g} m,\nwhere a recall is known",
            transform=axes.transAxes,
            ha="center",
            va="top",
            fontsize=8,
        )
    axes.plot(*point_m, marker="X", markersize=11, color=chart_ink("slowed"))
    axes.set_title(f"down at {at_m:g} m", fontsize=9)
    axes.set_aspect("equal")
    axes.set_axis_off()


def _edges(strip: Strip, first_m: float, last_m: float) -> tuple[Array, Array]:
    """Both edges of a stretch, a point a metre: (P, 2) each."""
    stations = np.linspace(first_m, last_m, 2 + int(last_m - first_m))
    left = np.array([strip.point_at(float(at), 0.0) for at in stations])
    right = np.array([strip.point_at(float(at), 1.0) for at in stations])
    return left, right
