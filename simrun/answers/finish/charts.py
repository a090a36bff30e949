"""How many points does every team score, as a chart? A bar for eight races in ten, a dot for the mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of

if TYPE_CHECKING:
    import pandas


def points_chart(teams: pandas.DataFrame, ours: str | None) -> bytes:
    """Points by team, the best at the top. teams: of `team_ranges`. Check: tests/journeys/test_finish.py."""
    figure = blank_figure(5.6, 1.3 + 0.32 * len(teams))
    axes = figure.subplots()
    at = np.arange(len(teams))[::-1]
    colors = [chart_ink("ours" if team == ours else "muted") for team in teams["team"]]
    axes.hlines(at, teams["points_low"], teams["points_high"], colors=colors, linewidth=6)
    axes.scatter(teams["points_mean"], at, s=40, c=colors, edgecolors=chart_ink("paper"), zorder=3)
    names = [str(team).replace("$", r"\$") for team in teams["team"]]
    axes.set_yticks(at, names)
    axes.set_ylim(-0.6, len(teams) - 0.4)
    axes.set_xlim(left=0)
    axes.set_xlabel("team points, fewer is better; bar: eight races in ten; dot: average")
    axes.spines[["top", "right"]].set_visible(False)
    return png_of(figure)
