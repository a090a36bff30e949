"""What does going out harder buy, and which line? Pay-off curves and the share of the field, as pictures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.pictures.charts.box_charts import blank_figure, chart_ink

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ACROSS = 4


@dataclass(frozen=True)
class Curve:
    """One runner's pay-off: openings (K,), mean seconds lost and the ends of its interval (K,), the knee."""

    name: str
    opening: Sequence[float]
    mean_s: Sequence[float]
    low_s: Sequence[float]
    high_s: Sequence[float]
    knee: float


def payoff_chart(curves: Sequence[Curve], title: str) -> Figure:
    """Seconds lost against the opening, a panel a runner, all on one scale, the knee ringed."""
    down = -(-len(curves) // ACROSS)
    figure = blank_figure(9.0, 0.8 + 2.1 * down)
    axes = figure.subplots(down, ACROSS, sharex=True, sharey=True, squeeze=False)
    for panel, curve in zip(axes.flat, curves, strict=False):
        _curve(panel, curve)
    for panel in axes.flat[len(curves) :]:
        panel.set_axis_off()
    # The lowest panel of every column carries the words under the axis.
    for i in range(max(0, len(curves) - ACROSS), len(curves)):
        axes.flat[i].tick_params(labelbottom=True)
    figure.suptitle(title, x=0.01, ha="left", fontsize=11)
    figure.supxlabel("opening, % faster than race pace", fontsize=9)
    figure.supylabel("seconds lost", fontsize=9)
    return figure


def _curve(axes: Axes, curve: Curve) -> None:
    percent = 100 * np.array(curve.opening)
    low, high = (
        np.where(np.isfinite(end), end, curve.mean_s) for end in (curve.low_s, curve.high_s)
    )
    axes.fill_between(percent, low, high, color=chart_ink("rule"), alpha=0.7, linewidth=0)
    axes.plot(percent, curve.mean_s, color=chart_ink("text"), linewidth=1.5)
    at = list(curve.opening).index(curve.knee)
    axes.plot(
        percent[at],
        curve.mean_s[at],
        marker="o",
        markersize=9,
        markerfacecolor="none",
        markeredgecolor=chart_ink("ours"),
        markeredgewidth=2,
    )
    axes.set_title(f"{curve.name}: +{percent[at]:.0f} %", fontsize=9, loc="left")
    axes.set_xticks(percent)
    axes.tick_params(labelsize=8)
    axes.axhline(0, color=chart_ink("muted"), linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)


def share_chart(found: Mapping[float, Any], title: str) -> Figure:
    """Our inside less our outside in seconds, against the share of the field that hugs the inside.

    found: {share: estimate with mean, low, high}. Above the line the outside is the faster.
    """
    figure = blank_figure(6.0, 3.2)
    axes = figure.subplots()
    share = 100 * np.array(list(found))
    mean = [e.mean for e in found.values()]
    low, high = ([getattr(e, end) for e in found.values()] for end in ("low", "high"))
    if np.isfinite([low, high]).all():
        axes.vlines(share, low, high, color=chart_ink("text"), linewidth=2)
    axes.plot(share, mean, marker="o", color=chart_ink("ours"), linewidth=1.5)
    axes.axhline(0, color=chart_ink("muted"), linewidth=1)
    axes.margins(x=0.15, y=0.25)
    axes.text(
        0.99, 0.97, "outside faster", transform=axes.transAxes, ha="right", va="top", fontsize=8
    )
    axes.text(0.99, 0.03, "inside faster", transform=axes.transAxes, ha="right", fontsize=8)
    axes.set_xlabel("others who hug the inside, %", fontsize=9)
    axes.set_ylabel("our inside minus outside, s", fontsize=9)
    axes.set_xticks(share)
    axes.set_title(title, loc="left", fontsize=10)
    axes.spines[["top", "right"]].set_visible(False)
    return figure
