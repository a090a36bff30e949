"""The course card as one printed page: map, hill, and a line for every stretch."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from simrun.base.units import METRES_A_FOOT, METRES_A_MILE, length_text
from simrun.course.strip import Strip
from simrun.pictures.charts.box_charts import COLOUR_MAP, blank_figure, chart_ink
from simrun.pictures.charts.course_map import Coloured, draw_map, style_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from simrun.scenario.scenario import Scenario

PAPER_INCH = {"a4": (210 / 25.4, 297 / 25.4), "letter": (8.5, 11.0)}
MARGIN_INCH = 0.45
MOST_ROWS = 40
HEAD = ("from", "stretch", "narrowest", "get by", "traffic", "pace", "note")
COLUMNS = (0.0, 0.065, 0.295, 0.375, 0.435, 0.49, 0.575)
NOTE_LETTERS = 66
GETS_BY = "of ten who would get by, so many do"


def overview(scenario: Scenario, bands: tuple[Coloured, ...], units: str) -> Figure:
    """Map and hill alone, for the page on a screen."""
    figure = blank_figure(7.4, 5.2, constrained=False)
    _pictures(figure, scenario, bands, (units, 0.0, 1.0))
    return figure


def printed_card(
    scenario: Scenario,
    bands: tuple[Coloured, ...],
    rows: list[list[str]],
    dull: list[bool],
    how: tuple[str, str, str],
) -> Figure:
    """The whole card on one sheet. rows: cells of the table, as under HEAD, a row a stretch; dull: which of
    them are left out first where the sheet is full. how: units, paper, and the words at its foot.
    """
    units, sheet, foot = how
    width, height = PAPER_INCH[sheet]
    figure = blank_figure(width, height, constrained=False)
    side, top = MARGIN_INCH / width, 1 - MARGIN_INCH / height
    length = length_text(scenario.strip.length_m, units)
    figure.text(
        side, top, _plain(f"{scenario.name}: {length}"), fontsize=13, va="top", weight="bold"
    )
    texts = _most(rows, dull)
    lines = [textwrap.wrap(row[-1], NOTE_LETTERS) or [""] for row in texts]
    size, step = _type(sum(map(len, lines)) + 1, height)
    low = MARGIN_INCH / height + 0.045
    high = low + step * (sum(map(len, lines)) + 1.5)
    _pictures(figure, scenario, bands, (units, high + 0.01, top - 0.025))
    _table(figure, list(zip(texts, lines, strict=True)), (side, high, step, size))
    figure.text(
        side,
        low - 0.008,
        _plain(textwrap.fill(foot, 215)),
        fontsize=5,
        va="top",
        color=chart_ink("muted"),
    )
    return figure


def _most(texts: list[list[str]], dull: list[bool]) -> list[list[str]]:
    """So many lines as a sheet takes: where everything is settled there is least to say."""
    if len(texts) <= MOST_ROWS:
        return texts
    kept = [text for text, is_dull in zip(texts, dull, strict=True) if not is_dull]
    return kept[:MOST_ROWS]


def _type(lines: int, height_inch: float) -> tuple[float, float]:
    """Size of the letters in points, and the step from line to line as a share of the sheet."""
    room = 0.52 * height_inch * 72
    step = min(9.2, room / lines)
    return step * 0.74, step / 72 / height_inch


def _plain(text: str) -> str:
    """A dollar sign is a dollar sign, not the start of a formula."""
    return text.replace("$", r"\$")


def _table(
    figure: Figure, rows: list[tuple[list[str], list[str]]], where: tuple[float, ...]
) -> None:
    side, high, step, size = where
    whole = 1 - 2 * side
    at = high - step
    for x, word in zip(COLUMNS, HEAD, strict=True):
        figure.text(side + x * whole, at, word, fontsize=size, weight="bold")
    for cells, lines in rows:
        at -= step
        for k, (x, cell) in enumerate(zip(COLUMNS[:-1], cells[:-1], strict=True)):
            short = textwrap.shorten(cell, 42, placeholder="...") if k == 1 else cell
            figure.text(side + x * whole, at, _plain(short), fontsize=size)
        for number, line in enumerate(lines):
            figure.text(side + COLUMNS[-1] * whole, at - number * step, _plain(line), fontsize=size)
        at -= step * (len(lines) - 1)


def _pictures(
    figure: Figure, scenario: Scenario, bands: tuple[Coloured, ...], where: tuple[str, float, float]
) -> None:
    """The map above the hill between two heights of the sheet."""
    units, low, high = where
    room = high - low
    inch = figure.get_figwidth()
    side = MARGIN_INCH / inch
    hill = figure.add_axes((side + 0.05, low + 0.16 * room, 1 - 2 * side - 0.07, 0.12 * room))
    _hill(hill, scenario.strip, bands, units)
    draw_map(
        figure.add_axes((side, low + 0.33 * room, 1 - 2 * side, 0.67 * room)),
        scenario,
        units,
        bands,
    )
    laps = max(band.lap for band in bands)
    _scale(figure, (side + 0.05, low + 0.03 * room), laps)


def _scale(figure: Figure, where: tuple[float, float], laps: int) -> None:
    from matplotlib import colormaps

    axes = figure.add_axes((*where, 0.18, 0.01))
    axes.imshow(np.linspace(0, 1, 64)[None], aspect="auto", cmap=colormaps[COLOUR_MAP])
    axes.set_xticks([0, 63], ["none", "all"], fontsize=6)
    axes.set_yticks([])
    words = GETS_BY + "; thin line: too few to tell"
    words += (
        f"; laps 1 to {laps} from left to right, facing the way of the race" if laps > 1 else ""
    )
    figure.text(where[0] + 0.2, where[1], words, fontsize=6.5)


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
    axes.set_xlabel(far_word, fontsize=6.5, labelpad=1)
    axes.set_ylabel(word, fontsize=6.5)
    axes.tick_params(labelsize=6, length=2, pad=2)
    axes.locator_params(axis="y", nbins=4)
    axes.spines[["top", "right"]].set_visible(False)


def pdf_of(figure: Figure) -> bytes:
    """The sheet as a PDF; the same figure gives the same bytes."""
    import io

    stream = io.BytesIO()
    figure.savefig(stream, format="pdf", metadata={"CreationDate": None, "Producer": None})
    return stream.getvalue()
