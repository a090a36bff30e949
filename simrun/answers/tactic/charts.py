"""What does going out harder buy, and which line? Pay-off curves and the share of the field, as pictures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.tactic.search.choices import Choice
from simrun.answers.tactic.tactic_found import Found
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ACROSS = 4


def payoff_chart(found: Found, title: str) -> bytes:
    """Seconds later at the finish than as ordered, against the seconds at the stake, a panel a runner."""
    names = found.names
    down = -(-len(names) // ACROSS)
    figure = blank_figure(9.0, 0.8 + 2.1 * down)
    axes = figure.subplots(down, ACROSS, sharey=True, squeeze=False)
    for i, name in enumerate(names):
        choice = found.openings[name]
        at = {o: float(found.splits_s[o][i]) for o in (choice.chosen, *choice.later)}
        _curve(axes.flat[i], name, at, choice)
    for panel in axes.flat[len(names) :]:
        panel.set_axis_off()
    figure.suptitle(title, x=0.01, ha="left", fontsize=11)
    figure.supxlabel(f"seconds at the {found.marks[found.stake]}, alone", fontsize=9)
    figure.supylabel("s later at the finish", fontsize=9)
    return png_of(figure)


def _curve(axes: Axes, name: str, at: Mapping[float, float], choice: Choice[float]) -> None:
    """One runner's pay-off against the order; at: {opening: seconds at the stake}."""
    nothing = Estimate(0.0, 0.0, 0.0, 0, 1.0)
    later = {o: choice.later.get(o, nothing) for o in sorted(at)}
    seconds = [at[o] for o in later]
    mean = [e.mean for e in later.values()]
    ends = ([getattr(e, end) for e in later.values()] for end in ("low", "high"))
    low, high = (np.where(np.isfinite(end), end, mean) for end in ends)
    axes.fill_between(seconds, low, high, color=chart_ink("rule"), alpha=0.7, linewidth=0)
    axes.plot(seconds, mean, color=chart_ink("text"), linewidth=1.5)
    ring: dict[str, Any] = {"markerfacecolor": "none", "markeredgewidth": 2}
    ring["markeredgecolor"] = chart_ink("ours")
    axes.plot(at[choice.chosen], 0.0, marker="o", markersize=9, **ring)
    axes.set_title(name, fontsize=9, loc="left")
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
