"""What did the boxes lose in one race, as a chart? A bar a box, split into box, line, traffic and racing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of
from simrun.pictures.ink.colours import PART_INKS

if TYPE_CHECKING:
    import pandas
    from matplotlib.axes import Axes

PARTS = {
    "box_s_mean": "box",
    "line_s_mean": "line",
    "traffic_s_mean": "traffic",
    "racing_s_mean": "racing",
}
MOST_NUMBERED = 26
"""With more boxes only every fifth has its number: the others would run into one another."""


def loss_chart(
    boxes: pandas.DataFrame, checkpoint: str, title: str, our_box: int | None = None
) -> bytes:
    """Mean seconds lost by box at a checkpoint, what each part added, and a dot for their sum.

    boxes: as of measure.loss.summary by box. A part that was gained hangs below nought.
    Check: tests/unit/answers/test_race.py.
    """
    rows = boxes[(boxes["checkpoint"] == checkpoint) & (boxes["count"] > 0)]
    figure = blank_figure(7.0, 3.8)
    axes = figure.subplots()
    _bars(axes, rows)
    colours = [chart_ink("ours" if box == our_box else "text") for box in rows["box"]]
    axes.scatter(
        rows["box"],
        rows["lost_s_mean"],
        s=30,
        c=colours,
        edgecolors="white",
        zorder=3,
        label="in all",
    )
    axes.axhline(0, color=chart_ink("muted"), linewidth=0.8)
    axes.set_ylabel("mean seconds lost")
    ours = "" if our_box is None else f"; ours is {our_box}"
    axes.set_xlabel(f"box, left to right facing the course{ours}")
    _numbers(axes, rows["box"].tolist(), our_box)
    axes.set_title(title.replace("$", r"\$"), loc="left", fontsize=11)
    axes.spines[["top", "right"]].set_visible(False)
    figure.legend(fontsize=8, frameon=False, ncols=5, loc="outside lower center")
    return png_of(figure)


def _bars(axes: Axes, rows: pandas.DataFrame) -> None:
    over, under = np.zeros(len(rows)), np.zeros(len(rows))
    for column, part in PARTS.items():
        value = rows[column].to_numpy(float)
        if part == "racing" and not value.any():  # nobody races
            continue
        base = np.where(value >= 0, over, under)
        axes.bar(rows["box"], value, bottom=base, color=chart_ink(PART_INKS[part]), label=part)
        over, under = over + np.maximum(value, 0), under + np.minimum(value, 0)


def _numbers(axes: Axes, boxes: list[int], our_box: int | None) -> None:
    few = len(boxes) <= MOST_NUMBERED
    shown = [box for box in boxes if few or box % 5 == 0 or box in (1, our_box)]
    axes.set_xticks(shown)
    axes.tick_params(axis="x", labelsize=8)
    for label, box in zip(axes.get_xticklabels(), shown, strict=True):
        label.set_fontweight("bold" if box == our_box else "normal")
