"""The start line from above, every box in the colour of a figure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.base.units import METRES_A_YARD
from simrun.course.strip import Strip
from simrun.pictures.charts.chart import COLOUR_MAP, blank_figure, chart_ink, png_of
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BOX_DEPTH_SHARE = 0.12
SEEN_BEYOND_M = 15.0
MOST_NUMBERED = 26
"""With more boxes only every fifth has its number: the others would run into one another."""


def start_map(
    scenario: Scenario,
    lost_s: dict[int, float],
    title: str,
    words: str = "mean seconds lost",
    units: str = "metric",
) -> bytes:
    """The start from above, every box in the colour of its loss: {box: seconds}; others stay empty.

    words: what the scale of the colours says, where it is another figure than that loss. units: in which
    the axes are.
    """
    figure = blank_figure(9.0, _height_inch(scenario))
    axes = figure.subplots()
    name, metres_each = ("yards", METRES_A_YARD) if units == "us" else ("metres", 1.0)
    _course(axes, scenario.strip, metres_each)
    colours = _scale(lost_s)
    for box in scenario.start_line.boxes:
        corners = _box_corners(box.left_m, box.right_m, scenario.start_line.width_m) / metres_each
        value = lost_s.get(box.number, np.nan)
        face = chart_ink("paper") if np.isnan(value) else colours.to_rgba(np.array(value))
        axes.fill(*corners.T, facecolor=face, edgecolor=chart_ink("text"), linewidth=0.5)
        if len(scenario.start_line.boxes) > MOST_NUMBERED and box.number % 5 and box.number > 1:
            continue
        x, y = corners[2:].mean(axis=0)
        axes.text(x, y, f"{box.number} ", fontsize=6, ha="right", va="center")
    axes.set_aspect("equal")
    axes.set_title(title, loc="left", fontsize=11)
    axes.set_xlabel(f"{name} ahead of the line; the race runs to the right")
    axes.set_ylabel(f"{name} to the left")
    axes.spines[["top", "right"]].set_visible(False)
    figure.colorbar(colours, ax=axes, label=words, shrink=0.8)
    return png_of(figure)


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


def _course(axes: Axes, strip: Strip, metres_each: float) -> None:
    """The course from behind the line to a little beyond its first gate."""
    first = strip.gates[0].last_cut if strip.gates else strip.finish_cut
    shown = strip.station_m <= strip.station_m[first] + SEEN_BEYOND_M
    left, right = (edge[shown] / metres_each for edge in (strip.left_m, strip.right_m))
    axes.fill(*np.concatenate([left, right[::-1]]).T, color=chart_ink("course"))
    for edge in (left, right):
        axes.plot(*edge.T, color=chart_ink("line"), linewidth=1)
