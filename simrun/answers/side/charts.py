"""Who arrives on the good side, as a chart: a bar a box."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    import pandas


def side_chart(boxes: pandas.DataFrame, good: str) -> bytes:
    """Of ten who stand in a box, how many pass on the good side; the range as a line, our box in our ink.

    boxes: a row a box, as of `box_table`.
    """
    figure = blank_figure(7.0, 3.0)
    axes = figure.subplots()
    inks = [chart_ink("ours" if ours else "muted") for ours in boxes["ours"]]
    axes.bar(boxes["box"], 10 * boxes["good_side"], color=inks, width=0.8)
    low, high = (10 * boxes[f"good_side_{end}"].clip(0, 1) for end in ("low", "high"))
    axes.vlines(boxes["box"], low, high, color=chart_ink("text"), linewidth=1)
    axes.set_ylim(0, 10.3)
    axes.set_xticks(boxes["box"])
    axes.tick_params(labelsize=8)
    axes.set_xlabel("box, from the left", fontsize=9)
    axes.set_ylabel(f"of ten, on the {good}", fontsize=9)
    axes.spines[["top", "right"]].set_visible(False)
    return png_of(figure)
