"""What does going out harder buy, and which line? Pay-off curves and the share of the field, as pictures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.tactic.tactic_found import Found
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ACROSS = 4


def payoff_chart(found: Found, title: str) -> bytes:
    """Seconds lost against the opening, a panel a runner, all on one scale, the knee ringed."""
    names = found.names
    down = -(-len(names) // ACROSS)
    figure = blank_figure(9.0, 0.8 + 2.1 * down)
    axes = figure.subplots(down, ACROSS, sharex=True, sharey=True, squeeze=False)
    for i, name in enumerate(names):
        lost = {o: found.judge(arm.lost_s[:, i, -1]) for o, arm in found.curve.items()}
        _curve(axes.flat[i], name, lost, found.order.opening_of(name))
    for panel in axes.flat[len(names) :]:
        panel.set_axis_off()
    # The lowest panel of every column carries the words under the axis.
    for i in range(max(0, len(names) - ACROSS), len(names)):
        axes.flat[i].tick_params(labelbottom=True)
    figure.suptitle(title, x=0.01, ha="left", fontsize=11)
    figure.supxlabel("opening, % faster than race pace", fontsize=9)
    figure.supylabel("seconds lost", fontsize=9)
    return png_of(figure)


def _curve(axes: Axes, name: str, lost: Mapping[float, Estimate], knee: float) -> None:
    """One runner's pay-off: {opening: seconds lost}, with the interval and the knee."""
    percent = 100 * np.array(list(lost))
    mean = [e.mean for e in lost.values()]
    ends = ([getattr(e, end) for e in lost.values()] for end in ("low", "high"))
    low, high = (np.where(np.isfinite(end), end, mean) for end in ends)
    axes.fill_between(percent, low, high, color=chart_ink("rule"), alpha=0.7, linewidth=0)
    axes.plot(percent, mean, color=chart_ink("text"), linewidth=1.5)
    at = list(lost).index(knee)
    ring: dict[str, Any] = {"markerfacecolor": "none", "markeredgewidth": 2}
    ring["markeredgecolor"] = chart_ink("ours")
    axes.plot(percent[at], mean[at], marker="o", markersize=9, **ring)
    axes.set_title(f"{name}: +{percent[at]:.0f} %", fontsize=9, loc="left")
    axes.set_xticks(percent)
    axes.tick_params(labelsize=8)
    axes.axhline(0, color=chart_ink("muted"), linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)


def share_chart(found: Mapping[float, Estimate], title: str) -> bytes:
    """Our inside less our outside in seconds, against the share of the field that hugs the inside.

    found: {share: seconds}. Above the line the outside is the faster.
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
    axes.set_xlabel("others on the inside, %", fontsize=9)
    axes.set_ylabel("our inside minus outside, s", fontsize=9)
    axes.set_xticks(share)
    axes.set_title(title, loc="left", fontsize=10)
    axes.spines[["top", "right"]].set_visible(False)
    return png_of(figure)
