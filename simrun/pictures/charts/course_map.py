"""The course on paper: its map with marks and names, coloured by a figure of every stretch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.units import METRES_A_MILE, length_text
from simrun.course.strip import Strip
from simrun.pictures.charts.chart import COLOUR_MAP, chart_ink
from simrun.pictures.charts.placed import Label, place_labels

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]

TO_GO_M = (1000.0, 400.0, 200.0)
BAND_PT = 4.0
"""How thick the coloured band is drawn; the next lap is drawn beside it."""

TYPE_PT = 8.0

ARROWS_TRIED = 120
ARROWS_APART_PT, ARROW_OFF_DOT_PT = 48.0, 12.0
"""So far apart stand the arrows that show the way of the race, and so far from any dot."""


@dataclass(frozen=True)
class Coloured:
    """A stretch of the measured line and its figure from 0 to 1; nan: nothing to say."""

    from_m: float
    to_m: float
    share: float
    lap: int = 1


def draw_map(axes: Axes, scenario: Scenario, units: str, bands: tuple[Coloured, ...] = ()) -> None:
    """Draw the whole course into these axes, which keep their size; no two names overlap."""
    strip = scenario.strip
    turn = _turned(strip)
    axes.set_axis_off()
    axes.set_aspect("equal", adjustable="datalim")
    _ground(axes, strip, turn)
    last = int(strip.finish_cut)
    ends = np.array([strip.left_m[last], strip.right_m[last]]) @ turn
    axes.plot(*ends.T, color=chart_ink("text"), linewidth=1.6)
    axes.plot(*(scenario.start_line.line_m @ turn).T, color=chart_ink("text"), linewidth=1.6)
    axes.margins(0.12)
    axes.autoscale_view()
    axes.apply_aspect()
    # From here on the map keeps its scale: names are measured on it.
    axes.set_autoscale_on(False)
    _bands(axes, strip, turn, bands)
    labels = [*_our_box(scenario, turn), *_labels(strip, units, turn)]
    _arrows(axes, strip, turn, [label.point_m for label in labels])
    for label in labels:
        if label.dot:
            size = 7.0 if label.ink == "ours" else 3.2
            axes.plot(
                *label.point_m, label.dot, markersize=size, color=chart_ink(label.ink), zorder=5
            )
    place_labels(axes, labels, _path(strip, turn), TYPE_PT)


def _turned(strip: Strip) -> Array:
    """A quarter turn where the course is taller than it is wide."""
    size = np.ptp(strip.middle_m, axis=0)
    quarter = np.array([[0.0, 1.0], [-1.0, 0.0]])
    return quarter if size[1] > 1.2 * size[0] else np.eye(2)


def _ground(axes: Axes, strip: Strip, turn: Array) -> None:
    from matplotlib.collections import PolyCollection

    left, right = strip.left_m @ turn, strip.right_m @ turn
    cells = np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1)
    grey = chart_ink("rule")
    axes.add_collection(
        PolyCollection(list(cells), facecolors=grey, edgecolors=grey, linewidths=0.8)
    )


def _path(strip: Strip, turn: Array) -> Array:
    """Both edges and the middle at every few metres: where no name may stand."""
    fine = np.arange(0.0, strip.length_m, max(2.0, strip.length_m / 1500))
    share = np.linspace(0.0, 1.0, 9)
    return np.array([strip.point_at(float(at), float(s)) for at in fine for s in share]) @ turn


def _bands(axes: Axes, strip: Strip, turn: Array, bands: tuple[Coloured, ...]) -> None:
    laps = max((band.lap for band in bands), default=1)
    a_point = _metres_a_point(axes)
    for band in bands:
        stations = np.linspace(band.from_m, band.to_m, max(2, round((band.to_m - band.from_m) / 5)))
        points = np.array([strip.point_at(float(at)) for at in stations]) @ turn
        ahead = np.gradient(points, axis=0)
        aside = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) / np.hypot(*ahead.T)[:, None]
        off = (band.lap - (laps + 1) / 2) * BAND_PT * 1.3 * a_point
        x, y = (points - off * aside).T
        axes.plot(x, y, zorder=3, **style_of(band.share))


def _arrows(axes: Axes, strip: Strip, turn: Array, dots: list[Array]) -> None:
    """Which way is run? Small arrows along the course, once where laps lie over one another."""
    from matplotlib.markers import MarkerStyle
    from matplotlib.path import Path as Outline

    arrow = Outline([(-0.55, -0.9), (0.0, -0.45), (0.55, -0.9), (0.0, 1.0), (-0.55, -0.9)])
    apart_m, off_m = (each * _metres_a_point(axes) for each in (ARROWS_APART_PT, ARROW_OFF_DOT_PT))
    drawn: list[Array] = []
    for at in np.linspace(0.0, strip.length_m, ARROWS_TRIED + 2)[1:-1]:
        spot, ahead = (np.array(strip.point_at(float(at + step))) @ turn for step in (0.0, 3.0))
        if any(np.hypot(*(spot - other)) < apart_m for other in drawn):
            continue
        if any(np.hypot(*(spot - dot)) < off_m for dot in dots):
            continue
        drawn.append(spot)
        way = float(np.degrees(np.arctan2(ahead[1] - spot[1], ahead[0] - spot[0])))
        axes.plot(
            *spot,
            marker=MarkerStyle(arrow).rotated(deg=way - 90),
            markersize=12,
            color=chart_ink("paper"),
            markeredgecolor=chart_ink("text"),
            markeredgewidth=0.9,
            zorder=4.5,
        )


def _our_box(scenario: Scenario, turn: Array) -> Iterator[Label]:
    """Where do ours stand? Nothing where no team is ours, or its box is still to be drawn."""
    for team in scenario.teams:
        if team.ours and team.box:
            spot = scenario.start_line.stand_middle_m(team.box) @ turn
            yield Label(f"our box, {team.box}", spot, bold=True, dot="*", ink="ours")


def _metres_a_point(axes: Axes) -> float:
    box = axes.get_window_extent()
    low, high = axes.get_xlim()
    return float((high - low) / box.width * axes.figure.get_dpi() / 72)


def style_of(share: float) -> dict[str, Any]:
    """Dark blue: nobody gets by; yellow: everybody who would; a thin line: too few to tell."""
    from matplotlib import colormaps

    known = bool(np.isfinite(share))
    colour = colormaps[COLOUR_MAP](share) if known else chart_ink("text")
    return {"color": colour, "linewidth": BAND_PT if known else 0.8, "solid_capstyle": "butt"}


def marks_along(strip: Strip, units: str) -> Iterator[tuple[str, float]]:
    """Every whole km or mile, and what is left to go at the places that runners are told."""
    every, word = (METRES_A_MILE, "mile") if units == "us" else (1000.0, "km")
    for k in range(1, int(strip.length_m // every) + 1):
        yield f"{k} {word}", k * every
    for left in TO_GO_M:
        if strip.length_m > left + 50:
            yield f"{left:.0f} m to go", strip.length_m - left


def firsts(strip: Strip) -> dict[str, float]:
    """Where are the first turn and the first narrowing? By what a coach calls them."""
    words = {"turn": "first turn", "throat": "first narrowing"}
    found: dict[str, float] = {}
    for gate in strip.gates:
        found.setdefault(words[gate.kind], float(strip.station_m[gate.first_cut]))
    return found


def _labels(strip: Strip, units: str, turn: Array) -> Iterator[Label]:
    def spot(station: float) -> Array:
        return np.array(strip.point_at(station)) @ turn

    yield Label("start", spot(0.0), bold=True)
    yield Label("finish", spot(strip.length_m), bold=True)
    for text, at in marks_along(strip, units):
        yield Label(text, spot(at), bold=True, dot="s")
    named = set()
    gates = [(g.name, float(strip.station_m[g.first_cut])) for g in strip.gates]
    for name, at in [*gates, *((mark.name, mark.station_m) for mark in strip.landmarks)]:
        if name not in named:
            named.add(name)
            first = next((what for what, where in firsts(strip).items() if where == at), "")
            words = f"{name} ({first}, {length_text(at, units)})" if first else name
            yield Label(words.replace("$", r"\$"), spot(at), dot="o")


def course_picture(scenario: Scenario, units: str) -> Figure:
    """The map of a course on half a page, with what the wheel reads."""
    from simrun.pictures.charts.chart import blank_figure

    figure = blank_figure(9.0, 6.0, constrained=False)
    axes = figure.add_axes((0.02, 0.02, 0.96, 0.88))
    draw_map(axes, scenario, units)
    title = f"{scenario.name}: {length_text(scenario.strip.length_m, units)}"
    figure.text(0.03, 0.94, title.replace("$", r"\$"), fontsize=12)
    return figure


def write_picture(scenario: Scenario, units: str, path: Path) -> Path:
    """The map of a course as a PNG."""
    from simrun.base.writing import written_beside
    from simrun.pictures.charts.chart import png_of

    picture = png_of(course_picture(scenario, units))
    with written_beside(path) as beside:
        beside.write_bytes(picture)
    return path
