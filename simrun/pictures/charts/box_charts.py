"""What does every box cost, as pictures? A chart with bands, and the start coloured by the loss."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from simrun.course.strip import Strip
from simrun.pictures.ink.colours import INKS

if TYPE_CHECKING:
    import pandas
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from simrun.scenario.scenario import Scenario

COLOUR_MAP = "cividis"
"""Runs from dark blue to yellow, ever lighter, and reads alike with any colour vision."""

DOTS_A_INCH = 110
BOX_DEPTH_SHARE = 0.12
SEEN_BEYOND_M = 15.0
MOST_NUMBERED = 26
"""With more boxes only every fifth has its number: the others would run into one another."""

SINGLE_WORDS = "eight of ten single runners"
MEAN_WORDS = "mean, with its 95 % interval"


ENDS = ("low", "high")


def chart_ink(name: str) -> tuple[float, float, float]:
    red, green, blue = INKS[name]
    return red / 255, green / 255, blue / 255


def chart(table: pandas.DataFrame, title: str, our_box: int | None = None) -> Figure:
    """Seconds and places lost by box: a light band for single runners, a dot with its interval for the mean.

    table: rows of one checkpoint and line, as of study.boxes.cells. Check: tests/unit/test_study_boxes.py.
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
    return figure


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


def start_map(scenario: Scenario, lost_s: dict[int, float], title: str) -> Figure:
    """The start from above, every box in the colour of its loss: {box: seconds}; others stay empty."""
    figure = blank_figure(9.0, _height_inch(scenario))
    axes = figure.subplots()
    _course(axes, scenario.strip)
    colours = _scale(lost_s)
    for box in scenario.start_line.boxes:
        corners = _box_corners(box.left_m, box.right_m, scenario.start_line.width_m)
        value = lost_s.get(box.number, np.nan)
        face = chart_ink("paper") if np.isnan(value) else colours.to_rgba(np.array(value))
        axes.fill(*corners.T, facecolor=face, edgecolor=chart_ink("text"), linewidth=0.5)
        if len(scenario.start_line.boxes) > MOST_NUMBERED and box.number % 5 and box.number > 1:
            continue
        x, y = corners[2:].mean(axis=0)
        axes.text(x, y, f"{box.number} ", fontsize=6, ha="right", va="center")
    axes.set_aspect("equal")
    axes.set_title(title, loc="left", fontsize=11)
    axes.set_xlabel("metres ahead of the line; the race runs to the right")
    axes.set_ylabel("metres to the left")
    axes.spines[["top", "right"]].set_visible(False)
    figure.colorbar(colours, ax=axes, label="mean seconds lost", shrink=0.8)
    return figure


def _height_inch(scenario: Scenario) -> float:
    """As high as the ground is wide for its length, so that little paper stays empty."""
    strip = scenario.strip
    first = strip.gates[0].last_cut if strip.gates else strip.finish_cut
    ahead = float(strip.station_m[first]) + 2 * SEEN_BEYOND_M
    return float(np.clip(1.5 + 7.0 * scenario.start_line.width_m / ahead, 2.4, 6.0))


def _scale(lost_s: dict[int, float]) -> Any:
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import Normalize

    known = [value for value in lost_s.values() if not np.isnan(value)] or [0.0]
    low, high = min(known), max(known)
    # Where all boxes are alike the scale still has a length: no difference gets no colour.
    return ScalarMappable(Normalize(low, max(high, low + 0.1)), COLOUR_MAP)


def _box_corners(left_m: np.ndarray, right_m: np.ndarray, width_m: float) -> np.ndarray:
    """The four corners of a box, drawn back from the line so far that it can be seen."""
    back = np.array([-max(2.5, BOX_DEPTH_SHARE * width_m), 0.0])
    return np.stack([left_m, right_m, right_m + back, left_m + back])


def _course(axes: Axes, strip: Strip) -> None:
    """The course from behind the line to a little beyond its first gate."""
    first = strip.gates[0].last_cut if strip.gates else strip.finish_cut
    shown = strip.station_m <= strip.station_m[first] + SEEN_BEYOND_M
    left, right = strip.left_m[shown], strip.right_m[shown]
    axes.fill(*np.concatenate([left, right[::-1]]).T, color=chart_ink("course"))
    for edge in (left, right):
        axes.plot(*edge.T, color=chart_ink("line"), linewidth=1)


def blank_figure(width_inch: float, height_inch: float, *, constrained: bool = True) -> Figure:
    """An empty figure that no window ever sees."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    layout: Literal["constrained"] | None = "constrained" if constrained else None
    figure = Figure(figsize=(width_inch, height_inch), dpi=DOTS_A_INCH, layout=layout)
    FigureCanvasAgg(figure)
    return figure


def png_of(figure: Figure, dots_a_inch: int = DOTS_A_INCH) -> bytes:
    """The picture as a PNG; the same figure gives the same bytes."""
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=dots_a_inch, metadata={"Software": None})
    return stream.getvalue()
