"""The course card as one printed page: a large map, the hill, and a sentence for every stretch."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simrun.base.units import METRES_A_FOOT, METRES_A_MILE
from simrun.course.strip import Strip
from simrun.pictures.charts.chart import COLOUR_MAP, blank_figure, chart_ink
from simrun.pictures.charts.course_map import Coloured, draw_map, style_of
from simrun.pictures.charts.sheet_paper import Line, Paper, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from simrun.scenario.scenario import Scenario

MARGIN_IN = 0.45
SMALL_PT = 8.0
SIZES_PT = (10.0, 9.5, 9.0, 8.5, 8.0)
"""The letters of the table: the largest with which the map keeps MAP_SHARE of the sheet."""

MAP_SHARE = 0.38
PICTURES_IN = 1.25
"""Hill and scale of the colours below the map."""

HEAD = ("from", "stretch", "width", "pace", "note")
COLUMNS = (0.0, 0.085, 0.31, 0.395, 0.51, 1.0)
"""Where the columns begin, and the last one ends, as shares of the width between the margins."""

PAPER_NAMES = {"a4": "A4", "letter": "Letter"}
GETS_BY = "share of the faster runners who get by"


def overview(scenario: Scenario, bands: tuple[Coloured, ...], units: str) -> Figure:
    """Map and hill alone, for the page on a screen."""
    wide, high = 5.8, 5.6
    figure = blank_figure(wide, high, constrained=False)
    room = 1 - PICTURES_IN / high
    draw_map(figure.add_axes((0.01, 1 - room, 0.98, room)), scenario, units, bands)
    _hill(figure.add_axes((0.08, 0.68 / high, 0.9, 0.42 / high)), scenario.strip, bands, units)
    _scale(figure, (0.08, 0.16 / high), (wide, high), max(band.lap for band in bands))
    return figure


def printed_card(
    scenario: Scenario,
    bands: tuple[Coloured, ...],
    rows: list[list[str]],
    how: tuple[str, str],
    said: tuple[str, str, str],
) -> Paper:
    """The whole card on one sheet. rows: cells of the table, as under HEAD, a row a stretch. how: units and
    paper, "a4" or "letter". said: the title, the answer, the words at the foot.

    Check: tests/journeys/test_card_sheet.py (no text over another, none beyond the margins).
    """
    units, name = how
    title, answer, foot = said
    paper = Paper(PAPER_NAMES[name])
    wide, high = paper.size_in
    inner, least = wide - 2 * MARGIN_IN, MAP_SHARE * high + PICTURES_IN
    head = _lines(title, inner, Line("", 15, bold=True)) + _lines(answer, inner, Line("", 10.5))
    feet = _lines(foot, inner, Line("", SMALL_PT, ink="muted"))
    room = high - 2 * MARGIN_IN - _high(head) - _high(feet) - 0.15
    for size in SIZES_PT:
        table = [_wrapped_row(cells, inner, size) for cells in (list(HEAD), *rows)]
        if _table_high(table, size) <= room - least:
            break
    top = _write(paper, head, MARGIN_IN)
    below = high - MARGIN_IN - _high(feet)
    _write(paper, feet, below)
    begin = below - 0.08 - _table_high(table, size)
    _pictures(paper, scenario, bands, (units, top, begin))
    _table(paper, table, (begin, size))
    return paper


def _lines(text: str, wide_in: float, like: Line) -> list[Line]:
    parts = wrapped(text, wide_in, like.size_pt, like.bold)
    return [Line(part, like.size_pt, like.bold, like.ink) for part in parts]


def _high(lines: list[Line]) -> float:
    return sum(line.high_in for line in lines)


def _write(paper: Paper, lines: list[Line], top_in: float) -> float:
    """The lines one below the other; gives where the last one ends."""
    for line in lines:
        paper.write(line, MARGIN_IN, top_in)
        top_in += line.high_in
    return top_in


def _wrapped_row(cells: list[str], inner_in: float, size: float) -> list[list[str]]:
    """Every cell in lines that fit into its column."""
    return [
        wrapped(cell, (COLUMNS[k + 1] - COLUMNS[k]) * inner_in - 0.08, size)
        for k, cell in enumerate(cells)
    ]


def _table_high(table: list[list[list[str]]], size: float) -> float:
    step = Line("", size).high_in
    return sum(max(len(cell) for cell in row) * step + 0.05 for row in table)


def _table(paper: Paper, table: list[list[list[str]]], where: tuple[float, float]) -> None:
    top, size = where
    inner = paper.size_in[0] - 2 * MARGIN_IN
    for number, row in enumerate(table):
        for k, cell in enumerate(row):
            for i, part in enumerate(cell):
                line = Line(part, size, bold=number == 0)
                paper.write(line, MARGIN_IN + COLUMNS[k] * inner, top + i * line.high_in)
        top += max(len(cell) for cell in row) * Line("", size).high_in
        paper.rule(MARGIN_IN, paper.size_in[0] - MARGIN_IN, top + 0.025)
        top += 0.05


def _pictures(
    paper: Paper,
    scenario: Scenario,
    bands: tuple[Coloured, ...],
    where: tuple[str, float, float],
) -> None:
    """The map, as large as there is room, the hill below it and the scale of the colours."""
    units, top, bottom = where
    wide, high = paper.size_in
    left, right = MARGIN_IN, wide - MARGIN_IN
    draw_map(paper.axes((left, top, right, bottom - PICTURES_IN)), scenario, units, bands)
    hill = (left + 0.5, bottom - PICTURES_IN + 0.08, right - 0.05, bottom - 0.72)
    _hill(paper.axes(hill), scenario.strip, bands, units)
    foot = ((left + 0.5) / wide, 1 - (bottom - 0.18) / high)
    _scale(paper.figure, foot, (wide, high), max(band.lap for band in bands))


def _scale(
    figure: Figure, where: tuple[float, float], size: tuple[float, float], laps: int
) -> None:
    from matplotlib import colormaps

    wide, high = size
    axes = figure.add_axes((*where, 1.4 / wide, 0.1 / high))
    axes.imshow(np.linspace(0, 1, 64)[None], aspect="auto", cmap=colormaps[COLOUR_MAP])
    axes.set_xticks([])
    axes.set_yticks([])
    for x, word, align in ((-0.04, "none", "right"), (1.04, "all", "left")):
        axes.text(x, 0.5, word, fontsize=SMALL_PT, ha=align, va="center", transform=axes.transAxes)
    words = f"{GETS_BY}; thin: too few to tell"
    words += f"\nlaps 1 to {laps} side by side, from left to right" if laps > 1 else ""
    middle = where[1] + 0.05 / high
    figure.text(where[0] + 1.8 / wide, middle, words, fontsize=SMALL_PT, va="center")


def _hill(axes: Axes, strip: Strip, bands: tuple[Coloured, ...], units: str) -> None:
    """Heights along the measured line, above the same colours as on the map."""
    foot, word = (METRES_A_FOOT, "ft") if units == "us" else (1.0, "m")
    far, far_word = (METRES_A_MILE, "mile") if units == "us" else (1000.0, "km")
    inside = slice(int(np.abs(strip.station_m).argmin()), strip.finish_cut + 1)
    station, height = strip.station_m[inside] / far, strip.height_m[inside] / foot
    least = max(10.0 / foot - float(np.ptp(height)), 0.0)
    low, high = float(height.min()) - 0.1 * least, float(height.max()) + 0.9 * least
    axes.fill_between(station, low, height, color=chart_ink("rule"), linewidth=0)
    axes.plot(station, height, color=chart_ink("text"), linewidth=0.8)
    reach = (high - low) * 0.25
    for band in bands:
        ends = [band.from_m / far, band.to_m / far]
        axes.plot(ends, [low - reach / 2] * 2, **style_of(band.share))
    axes.set_ylim(low - reach, high)
    axes.set_xlim(0, float(station[-1]))
    axes.set_ylabel(word, fontsize=SMALL_PT)
    axes.tick_params(labelsize=SMALL_PT, length=2, pad=2)
    axes.set_yticks([round(float(height.min())), int(high)])
    axes.set_xticks([at for at in axes.get_xticks() if 0 <= at <= station[-1]])
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:g} {far_word}")
    axes.spines[["top", "right"]].set_visible(False)
