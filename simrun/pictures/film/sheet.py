"""Six moments on one page, for the wall or the bus: clock, map, ribbon, who is where, what was lost."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from simrun.base.writing import written_beside
from simrun.pictures.film.ledger import row_name
from simrun.pictures.film.painter import Painter
from simrun.pictures.film.pair import Pair, Told
from simrun.pictures.ink.colours import INKS, palette
from simrun.pictures.ink.lettering import clipped
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.strips import Strips
from simrun.pictures.ink.view import clock_words
from simrun.pictures.story.captions import frame_at
from simrun.pictures.story.script import Beat

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PANELS = 6
COLUMNS = 3

_PAGE_INCH = (11.69, 8.27)
"""A4, landscape."""

_EDGE, _GAP, _HEAD, _FOOT = 0.45, 0.28, 0.75, 0.55
_MAP_INCH, _ABOVE_INCH = 2.65, 0.28
_DOTS_AN_INCH = 200
_TYPE_SCALE, _TYPE_SCALE_OF_PAIR = 1.75, 1.4


def write_sheet(told: Told, path: str | Path) -> list[Path]:
    """The sheet as a PNG and, beside it, as a PDF. Raises BadInput as `animate` does, and CannotWrite.

    Check: tests/journeys/test_film.py.
    """
    figure = _page(_show(told))
    written = [Path(path).with_suffix(ending) for ending in (".png", ".pdf")]
    for target in written:
        with written_beside(target) as where:
            where.write_bytes(_bytes(figure, target.suffix[1:]))
    return written


def _show(told: Told) -> Painter | Pair:
    """The pictures in the size of a panel; the words stand under it instead of on the map."""
    wide = round(_panel_inch() * _DOTS_AN_INCH)
    scale = _TYPE_SCALE_OF_PAIR if told.beside else _TYPE_SCALE
    flat = Layout(wide, 0, 2 if told.beside else 1, scale, ribbon=True)
    high = round(_MAP_INCH * _DOTS_AN_INCH) + flat.top_px + flat.bottom_px
    show = told.show(told.view, replace(flat, height_px=high))
    for painter in (show.left, show.right) if isinstance(show, Pair) else (show,):
        painter.captions = []
    return show


def _panel_inch() -> float:
    return (_PAGE_INCH[0] - 2 * _EDGE - (COLUMNS - 1) * _GAP) / COLUMNS


def chosen(show: Painter | Pair) -> list[Beat]:
    """Six beats in order: the start, those that decide, and others as far from these as can be."""
    t_s = show.moments.t_s
    first = "at the gun" if t_s[0] == 0 else "at the beginning"
    told, spare = (
        [beat for beat in given if t_s[0] < beat.t_s <= t_s[-1]]
        for given in (show.beats, show.spare_beats)
    )
    kept = [Beat(float(t_s[0]), first, show.start_words(), "", 0)]
    kept += [beat for beat in told if beat.decides][: PANELS - 1]
    between = np.linspace(t_s[0], t_s[-1], 2 * PANELS)
    later = [Beat(float(t), "", "", "", 0) for t in between]
    for given in (told, spare, later):
        while len(kept) < PANELS and (left := [beat for beat in given if beat not in kept]):
            kept.append(max(left, key=lambda beat: min(abs(beat.t_s - old.t_s) for old in kept)))
    return sorted(kept, key=lambda beat: beat.t_s)


def _page(show: Painter | Pair) -> Figure:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=_PAGE_INCH, dpi=_DOTS_AN_INCH)
    FigureCanvasAgg(figure)
    room = _PAGE_INCH[0] - 2 * _EDGE
    _write(figure, (_EDGE, _HEAD - 0.22, room), show.words().title, 15, "text", True)
    _write(figure, (_EDGE, _HEAD - 0.02, room), _names(show), 8, "text", False)
    for number, beat in enumerate(chosen(show)):
        column, row = number % COLUMNS, number // COLUMNS
        left = _EDGE + column * (_panel_inch() + _GAP)
        high = (_PAGE_INCH[1] - _HEAD - _FOOT) / (PANELS // COLUMNS)
        _panel(figure, show, beat, left, _HEAD + row * high)
    _legend(figure, show)
    return figure


def _names(show: Painter | Pair) -> str:
    """Who bears which number?"""
    painter = show.left if isinstance(show, Pair) else show
    rows = range(len(painter.numbered))
    return "    ".join(row_name(painter.recording, painter.numbered, row) for row in rows)


def _panel(figure: Figure, show: Painter | Pair, beat: Beat, left: float, top: float) -> None:
    """Clock and place above the map, three lines of words below it; inches from the upper left corner."""
    frame = frame_at(show.moments.t_s, beat.t_s)
    room, clock = _panel_inch(), clock_words(show.moments.t_s[frame])
    _write(figure, (left, top + 0.2, room), clock, 12, "text", True)
    _write(figure, (left + 0.75, top + 0.2, room - 0.75), beat.name, 10, "text", True)
    picture = palette()[show.body(frame)]
    wide, high = _PAGE_INCH
    below = top + _ABOVE_INCH + _MAP_INCH
    place = (left / wide, 1 - below / high, _panel_inch() / wide, _MAP_INCH / high)
    axes = figure.add_axes(place)
    axes.imshow(picture, aspect="auto", interpolation="none")
    axes.set_xticks([])
    axes.set_yticks([])
    for number, (line, bold) in enumerate(
        ((beat.place, False), (beat.see, False), (beat.lost, True))
    ):
        _write(figure, (left, below + 0.17 + 0.155 * number, room), line, 8, "text", bold)


def _legend(figure: Figure, show: Painter | Pair) -> None:
    """The legend of the moving picture, once for the page."""
    wide, high = _PAGE_INCH
    across = round((wide - 2 * _EDGE) * _DOTS_AN_INCH)
    paper = Layout(across, show.layout.height_px, type_scale=_TYPE_SCALE)
    legend = palette()[Strips(paper, replace(show.words(), speed="")).legend()]
    place = (_EDGE / wide, 0.08 / high, 1 - 2 * _EDGE / wide, len(legend) / _DOTS_AN_INCH / high)
    axes = figure.add_axes(place)
    axes.imshow(legend, aspect="auto", interpolation="none")
    axes.set_axis_off()


def _write(
    figure: Figure, spot: tuple[float, float, float], text: str, size: float, name: str, bold: bool
) -> None:
    """Text at inches from the left and from above, with so much room; nothing in it is read as markup."""
    left, base, room = spot
    figure.text(
        left / _PAGE_INCH[0],
        1 - base / _PAGE_INCH[1],
        clipped(text, round(size * _DOTS_AN_INCH / 72), round(0.97 * room * _DOTS_AN_INCH), bold),
        fontsize=size,
        weight="bold" if bold else "normal",
        color=tuple(part / 255 for part in INKS[name]),
        parse_math=False,
    )


def _bytes(figure: Figure, ending: str) -> bytes:
    stream = io.BytesIO()
    about = {"Software": None} if ending == "png" else {"CreationDate": None, "Producer": None}
    figure.savefig(stream, format=ending, metadata=about)
    return stream.getvalue()
