"""What does every other way bring, as a chart? A bar for its range, a dot for the mean, nothing at 0."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of
from simrun.trials.statistics import Estimate


def plans_chart(rows: Sequence[tuple[str, Estimate]], title: str) -> bytes:
    """A row a way, the first at the top; what leaves 0 out is in our color.

    Check: tests/journeys/test_brief.py.
    """
    figure = blank_figure(7.0, 1.2 + 0.5 * len(rows))
    axes = figure.subplots()
    at = np.arange(len(rows))[::-1]
    for y, (_, found) in zip(at, rows, strict=True):
        ink = chart_ink("ours" if found.is_seen else "muted")
        if np.isfinite([found.low, found.high]).all():
            axes.hlines(y, found.low, found.high, color=ink, linewidth=6)
        axes.scatter(found.mean, y, s=40, color=ink, edgecolors=chart_ink("paper"), zorder=3)
    axes.axvline(0, color=chart_ink("line"), linewidth=1)
    names = [textwrap.fill(words, 38).replace("$", r"\$") for words, _ in rows]
    axes.set_yticks(at, names)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlabel(title)
    axes.spines[["top", "right"]].set_visible(False)
    return png_of(figure)
