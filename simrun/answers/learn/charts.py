"""The inputs before and after, and what was seen beside what the races give, as charts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

COLUMNS, BINS = 3, 16


def inputs_chart(panels: Sequence[tuple[str, Array, Array, tuple[float, float]]]) -> bytes:
    """A panel an input: what it is, draws before and after, its range.

    Check: tests/journeys/test_learn.py.
    """
    rows = -(-len(panels) // COLUMNS)
    figure = blank_figure(9.0, 0.6 + 1.9 * rows)
    axes = figure.subplots(rows, COLUMNS, squeeze=False).ravel()
    for each, (words, before, after, ends) in zip(axes, panels, strict=False):
        _panel(each, before, after, ends)
        each.set_title(_broken(words), loc="left", fontsize=8)
    for each in axes[len(panels) :]:
        each.set_visible(False)
    handles, labels = axes[0].get_legend_handles_labels()
    figure.legend(handles, labels, fontsize=8, frameon=False, ncols=2, loc="outside lower center")
    return png_of(figure)


def _panel(axes: Axes, before: Array, after: Array, ends: tuple[float, float]) -> None:
    bins = np.linspace(*ends, BINS + 1)
    shares = {"weights": np.full(len(before), 1.0 / len(before))}
    axes.hist(before, bins=list(bins), color=chart_ink("rule"), label="before", **shares)  # type: ignore[arg-type]
    weights = np.full(len(after), 1.0 / len(after))
    ink = chart_ink("ours")
    axes.hist(
        after,
        bins=list(bins),
        weights=weights,
        color=ink,
        histtype="step",
        linewidth=2,
        label="after",
    )
    axes.set_yticks([])
    axes.set_xlim(*ends)
    axes.tick_params(axis="x", labelsize=8)
    axes.spines[["top", "right", "left"]].set_visible(False)


def _broken(words: str, most: int = 38) -> str:
    """A title in two lines at most."""
    if len(words) <= most:
        return words
    at = words.rfind(" ", 0, most)
    rest = words[at + 1 :]
    return f"{words[:at]}\n{rest if len(rest) <= most else rest[: most - 3] + '...'}"


def fit_chart(rows: Sequence[tuple[str, float, Array, Array | None]]) -> bytes:
    """A row a figure: its words, what was seen, what races at any inputs give, and at what was learnt.

    Every row has its own scale: 0 and 1 are the ends of nine of ten races at any inputs.
    """
    figure = blank_figure(9.0, 1.0 + 0.3 * len(rows))
    axes = figure.subplots()
    at = np.arange(len(rows))[::-1]
    for y, (_, seen, before, after) in zip(at, rows, strict=True):
        low, high = np.quantile(before, (0.05, 0.95))
        scale = high - low or 1.0
        axes.hlines(y, 0, 1, color=chart_ink("rule"), linewidth=9)
        if after is not None:
            ends = (np.quantile(after, (0.05, 0.95)) - low) / scale
            axes.hlines(y, *ends, color=chart_ink("ours"), linewidth=4)
        axes.plot((seen - low) / scale, y, "o", color=chart_ink("text"), markersize=5)
    axes.set_yticks(at, [words for words, *_ in rows], fontsize=8)
    axes.set_ylim(-0.7, len(rows) - 0.3)
    axes.set_xticks([0, 1], ["low end", "high end"])
    axes.set_xlabel(
        "dot: seen; wide bar: nine of ten races at any inputs; narrow bar: at what was learnt"
    )
    axes.spines[["top", "right", "left"]].set_visible(False)
    return png_of(figure)
