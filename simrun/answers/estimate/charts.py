"""What the handbook teaches, as a chart: how far boxes lie apart, and what is kept of what was lost."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.estimate.lessons import Lessons, Ranged
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of


def lessons_chart(
    lessons: Lessons, labels: Sequence[Sequence[str]], titles: Sequence[str]
) -> bytes:
    """Three small panels of bars with their ranges; labels and titles by panel."""
    figure = blank_figure(9.0, 3.0)
    panels = figure.subplots(1, 3)
    bars: list[tuple[Ranged, ...]] = [thirds.apart_s for thirds in lessons.apart]
    bars.append((lessons.kept_seconds, lessons.kept_places))
    for axes, found, names, title in zip(panels, bars, labels, titles, strict=True):
        places = range(len(found))
        axes.bar(places, [bar.value for bar in found], color=chart_ink("muted"), width=0.6)
        low, high = [bar.low for bar in found], [bar.high for bar in found]
        axes.vlines(places, low, high, color=chart_ink("text"), linewidth=2)
        axes.set_xticks(places, names, fontsize=8)
        axes.set_title(title, fontsize=9)
        axes.tick_params(labelsize=8)
        axes.spines[["top", "right"]].set_visible(False)
    return png_of(figure)
