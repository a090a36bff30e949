"""What does every box cost against the average box, as a chart?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    import pandas
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SINGLE_WORDS = "eight of ten single runners"
MEAN_WORDS = "against the average box, with the 95 % range"

ENDS = ("low", "high")


def box_chart(
    at_mark: pandas.DataFrame, at_last: pandas.DataFrame, title: str, our_box: int | None = None
) -> bytes:
    """Seconds and places by box at the first mark, points at the finish where there are any.

    at_mark, at_last: rows of one checkpoint and all lines, as of answers.boxes.cells. The band of single
    runners lies about the mean of all boxes, the dashed line is the box's own metres about theirs. Check:
    tests/unit/answers/test_boxes_told.py.
    """
    scored = not at_last["cost_points"].isna().all()
    figure = blank_figure(9.0, 8.0 if scored else 6.0)
    panels = figure.subplots(2 + scored, 1, sharex=True)
    mark = at_mark["checkpoint"].iloc[0]
    _band(panels[0], at_mark, "lost_s")
    own = at_mark["box_s_mean"] - at_mark["box_s_mean"].mean()
    panels[0].plot(at_mark["box"], own, color=chart_ink("marked"), linewidth=1, linestyle="--")
    _costs(panels[0], at_mark, "cost_s", our_box)
    panels[0].set_ylabel(f"seconds, {mark}")
    panels[0].set_title(title, loc="left", fontsize=11)
    _band(panels[1], at_mark, "places_lost")
    _costs(panels[1], at_mark, "cost_places", our_box)
    panels[1].set_ylabel(f"places, {mark}")
    if scored:
        _costs(panels[2], at_last, "cost_points", our_box)
        panels[2].set_ylabel("team points, finish")
    panels[-1].set_xlabel("box, left to right facing the course")
    panels[-1].set_xticks(at_mark["box"])
    panels[-1].tick_params(axis="x", labelsize=8)
    _legend(figure, our_box)
    return png_of(figure)


def _band(axes: Axes, table: pandas.DataFrame, part: str) -> None:
    """Where eight of ten single runners lie, about the mean of all boxes."""
    middle = table[f"{part}_mean"].mean()
    low, high = table[f"{part}_p10"] - middle, table[f"{part}_p90"] - middle
    axes.bar(table["box"], high - low, bottom=low, width=0.7, color=chart_ink("rule"), alpha=0.7)


def _costs(axes: Axes, table: pandas.DataFrame, name: str, our_box: int | None) -> None:
    box = table["box"]
    # An endless interval (one seed) is not drawn.
    ends = [table[f"{name}_{end}"].where(np.isfinite(table[f"{name}_{end}"])) for end in ENDS]
    colours = [chart_ink("ours" if b == our_box else "text") for b in box]
    axes.vlines(box, ends[0], ends[1], colors=colours, linewidth=2)
    axes.scatter(box, table[name], s=22, c=colours, zorder=3)
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
