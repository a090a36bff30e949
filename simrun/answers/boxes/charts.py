"""What does every box cost, as a chart? A band for single runners, a dot and a bar for the mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    import pandas
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SINGLE_WORDS = "eight of ten single runners"
MEAN_WORDS = "mean, with its 95 % interval"


ENDS = ("low", "high")


def box_chart(table: pandas.DataFrame, title: str, our_box: int | None = None) -> bytes:
    """Seconds and places lost by box: a light band for single runners, a dot with its interval for the mean.

    table: rows of one checkpoint and line, as of answers.boxes.cells.
    Check: tests/unit/answers/test_boxes.py.
    """
    figure = blank_figure(9.0, 6.0)
    seconds, places = figure.subplots(2, 1, sharex=True, height_ratios=[3, 2])
    _bands(seconds, table, "lost_s", our_box)
    seconds.plot(
        table["box"], table["box_s_mean"], color=chart_ink("marked"), linewidth=1, linestyle="--"
    )
    seconds.set_ylabel("seconds lost")
    seconds.set_title(title, loc="left", fontsize=11)
    _bands(places, table, "places_lost", our_box)
    places.set_ylabel("places lost")
    places.set_xlabel("box, left to right facing the course")
    places.set_xticks(table["box"])
    places.tick_params(axis="x", labelsize=8)
    _legend(figure, our_box)
    return png_of(figure)


def _bands(axes: Axes, table: pandas.DataFrame, part: str, our_box: int | None) -> None:
    box, mean = table["box"], table[f"{part}_mean"]
    low, high = table[f"{part}_p10"], table[f"{part}_p90"]
    axes.bar(box, high - low, bottom=low, width=0.7, color=chart_ink("rule"), alpha=0.7)
    # An endless interval (one seed) is not drawn.
    ends = [table[f"{part}_{end}"].where(np.isfinite(table[f"{part}_{end}"])) for end in ENDS]
    colours = [chart_ink("ours" if b == our_box else "text") for b in box]
    axes.vlines(box, ends[0], ends[1], colors=colours, linewidth=2)
    axes.scatter(box, mean, s=22, c=colours, zorder=3)
    axes.axhline(0, color=chart_ink("muted"), linewidth=0.8)
    axes.spines[["top", "right"]].set_visible(False)


def _legend(figure: Figure, our_box: int | None) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    dot: dict[str, Any] = {"marker": "o", "linewidth": 2}
    entries: list[Any] = [
        Line2D([], [], color=chart_ink("text"), label=MEAN_WORDS, **dot),
        Patch(color=chart_ink("rule"), label=SINGLE_WORDS),
        Line2D(
            [], [], color=chart_ink("marked"), linestyle="--", label="of it the box's own metres"
        ),
    ]
    if our_box is not None:
        entries.append(Line2D([], [], color=chart_ink("ours"), label=f"our box, {our_box}", **dot))
    figure.legend(handles=entries, fontsize=8, frameon=False, ncols=4, loc="outside lower center")
