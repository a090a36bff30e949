"""What is left at the finish of seconds lost at the gun, as a chart: a line a way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simrun.engine.set_back import BY_PLAN, FOR_PLACES
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of
from simrun.tactics.regain import AT_ONCE, EVENLY, LATE

if TYPE_CHECKING:
    import pandas

STYLES = {
    BY_PLAN: ("muted", "s", "-"),
    AT_ONCE: ("slowed", "^", "--"),
    EVENLY: ("ours", "o", "-"),
    LATE: ("marked", "v", "--"),
    FOR_PLACES: ("other_plan", "D", ":"),
}
"""Ink, mark and stroke of every way: no two are told apart by colour alone."""


def back_chart(rows: pandas.DataFrame) -> bytes:
    """Seconds late at the finish by seconds lost at the gun; bars: eight races in ten.

    rows: of `back_ranges`, with one amount in hand. Check: tests/unit/answers/test_chase.py.
    """
    figure = blank_figure(7.0, 4.2)
    axes = figure.subplots()
    far = max(1.0, float(rows["delay_s"].max()))
    axes.plot([0, far], [0, far], color=chart_ink("line"), linewidth=0.9, label="all of it left")
    ways = list(dict.fromkeys(rows["way"]))
    for number, way in enumerate(ways):
        ink, mark, stroke = STYLES[way]
        some = rows[rows["way"] == way]
        aside = 0.015 * far * (number - (len(ways) - 1) / 2)
        at, mean = some["delay_s"].to_numpy(float) + aside, some["finish_s_mean"].to_numpy(float)
        axes.vlines(at, some["finish_s_p10"], some["finish_s_p90"], color=chart_ink(ink))
        axes.plot(at, mean, color=chart_ink(ink), marker=mark, linestyle=stroke, label=way)
    axes.axhline(0, color=chart_ink("muted"), linewidth=0.8)
    axes.set_xticks(np.unique(rows["delay_s"]))
    axes.set_xlabel("seconds late at the gun")
    axes.set_ylabel("seconds late at the finish")
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(fontsize=8, frameon=False)
    return png_of(figure)
