"""What the handbook teaches, as a chart: how far boxes lie apart, and what is kept of what was lost."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.estimate.lessons import Lessons, Ranged
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of


def lessons_chart(
    lessons: Lessons, labels: Sequence[Sequence[str]], titles: Sequence[str]
) -> bytes:
    """Three small panels of bars with their ranges, one below the other: readable on a phone."""
    figure = blank_figure(5.2, 6.6)
    panels = figure.subplots(3, 1)
    bars: list[tuple[Ranged, ...]] = [thirds.apart_s for thirds in lessons.apart]
    bars.append((lessons.kept_seconds, lessons.kept_places))
    for axes, found, names, title in zip(panels, bars, labels, titles, strict=True):
        places = range(len(found))
        axes.bar(places, [bar.value for bar in found], color=chart_ink("muted"), width=0.6)
        low, high = [bar.low for bar in found], [bar.high for bar in found]
        axes.vlines(places, low, high, color=chart_ink("text"), linewidth=2)
        axes.set_xticks(places, names, fontsize=11)
        axes.set_title(title, fontsize=11)
        axes.tick_params(labelsize=10)
        axes.spines[["top", "right"]].set_visible(False)
    return png_of(figure)
