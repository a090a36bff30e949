"""What does the crew lay out? The line to scale: stakes, pegs, tapes, box numbers, the gun."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.units import METRES_A_YARD, length_text
from simrun.pictures.charts.chart import blank_figure, chart_ink, png_of
from simrun.pictures.charts.sheet_paper import Line, Paper, text_width_in, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

MOST_NUMBERED = 16
BAR_M = 10.0


@dataclass(frozen=True)
class Laid:
    """What is laid out, in the line's own frame: stakes (S, 2) and pegs (P, 2), metres ahead and to the left.

    left_peg (S,): the number, from 0, of the peg that a stake's left tape is held at; the right one at the
    next. names: of the pegs, from left to right. gun_m (2,): where the gun stands. across_m: lines across the
    way ahead by name, with how far ahead of the middle peg; lane: beside which end the ambulance's lane is.
    """

    stake_m: Array
    pegs_m: Array
    left_peg: NDArray[np.int64]
    names: list[str]
    gun_m: Array
    across_m: dict[str, float] = field(default_factory=dict)
    lane: str | None = None


@dataclass(frozen=True)
class CrewSheet:
    """What the crew takes along on one sheet of paper: title, the drawing, sentences, the tapes as rows.

    how: sentences, each a line of its own; stakes: rows, the first of them the head; caution: at the foot.
    """

    title: str
    laid: Laid
    how: list[str]
    stakes: list[list[str]]
    caution: str


MARGIN_IN, GUTTER_IN, COLUMN_GAP_IN = 0.5, 0.3, 0.12
BETWEEN_IN = 0.04
"""Between two sentences."""

DRAWN_SHARE = 0.3
"""Of the sheet's height is the drawing's, at most."""

SIZES_PT = tuple(float(pt) for pt in np.arange(10.0, 4.25, -0.25))
FOOT_PT = 6.0


def crew_pdf(sheet: CrewSheet, paper: str, units: str) -> bytes:
    """The crew's sheet on one page of this paper: drawing, words, and the tapes in two columns.

    The letters are as large as lets everything stand on it. Check: tests/unit/pictures/test_crew_map.py.
    """
    return laid_on(Paper(paper), sheet, units).pdf()


def laid_on(page: Paper, sheet: CrewSheet, units: str) -> Paper:
    """The same sheet of paper, written on."""
    wide, high = page.size_in
    page.write(Line(sheet.title, 13, bold=True), MARGIN_IN, MARGIN_IN)
    top = MARGIN_IN + 0.35
    drawn = min(DRAWN_SHARE * high, (wide - 2 * MARGIN_IN) * _deep_share(sheet.laid))
    axes = page.axes((MARGIN_IN, top, wide - MARGIN_IN, top + drawn))
    _draw(axes, sheet.laid, units)
    top += drawn + 0.2
    columns, size = _fitting(sheet, page.size_in, top)
    for sentence in sheet.how:
        for line in _lines([sentence], wide, size):
            page.write(line, MARGIN_IN, top)
            top += line.high_in
        top += BETWEEN_IN
    _columns(page, sheet.stakes, top + 0.1, _tape_pt(sheet, wide, size, columns), columns)
    foot = _lines([sheet.caution], wide, FOOT_PT)
    for number, line in enumerate(foot):
        page.write(line, MARGIN_IN, high - MARGIN_IN - (len(foot) - number) * line.high_in)
    return page


def _fitting(sheet: CrewSheet, size_in: tuple[float, float], top_in: float) -> tuple[int, float]:
    """In how many columns do the tapes stand, and in what letters the words, to fill the sheet?

    One column where its tapes are at least as large as in two; then the largest letters that fit.
    """
    wide, high = size_in
    found = []
    for columns in (1, 2):
        fits = (
            pt
            for pt in SIZES_PT
            if top_in + _needed_in(sheet, wide, pt, columns) < high - MARGIN_IN
        )
        size = next(fits, SIZES_PT[-1])
        found.append((_tape_pt(sheet, wide, size, columns), -columns, size))
    _, columns, size = max(found)
    return -columns, size


def _tape_pt(sheet: CrewSheet, wide_in: float, most_pt: float, columns: int) -> float:
    """The largest letters, up to these, in which a row of tapes is as wide as its column."""
    room = _column_in(wide_in, columns)
    fits = (pt for pt in SIZES_PT if sum(_widths_in(sheet.stakes, pt)) <= room)
    return min(most_pt, next(fits, SIZES_PT[-1]))


def _widths_in(rows: list[list[str]], size_pt: float) -> list[float]:
    """How wide is every column, with the room to the next?"""
    return [
        max(text_width_in(cell, size_pt, bold=True) for cell in column) + COLUMN_GAP_IN
        for column in zip(*rows, strict=True)
    ]


def _column_in(wide_in: float, columns: int) -> float:
    return (wide_in - 2 * MARGIN_IN - (columns - 1) * GUTTER_IN) / columns


def _lines(sentences: list[str], wide_in: float, size_pt: float) -> list[Line]:
    return [
        Line(text, size_pt)
        for sentence in sentences
        for text in wrapped(sentence, wide_in - 2 * MARGIN_IN, size_pt)
    ]


def _needed_in(sheet: CrewSheet, wide_in: float, size_pt: float, columns: int) -> float:
    """How high are words, tapes and foot where the words are in letters of this size?"""
    said = len(_lines(sheet.how, wide_in, size_pt)) * Line("", size_pt).high_in
    said += len(sheet.how) * BETWEEN_IN
    rows = 1 + -(-(len(sheet.stakes) - 1) // columns)
    tapes = rows * Line("", _tape_pt(sheet, wide_in, size_pt, columns)).high_in
    foot = len(_lines([sheet.caution], wide_in, FOOT_PT)) * Line("", FOOT_PT).high_in
    return said + tapes + foot + 0.2


def _columns(
    page: Paper, rows: list[list[str]], top_in: float, size_pt: float, columns: int
) -> None:
    """The rows in so many columns side by side, each under the head."""
    wide, _ = page.size_in
    room_in, widths = _column_in(wide, columns), _widths_in(rows, size_pt)
    head, body = rows[0], rows[1:]
    each = -(-len(body) // columns)
    for number in range(columns):
        part = body[number * each : (number + 1) * each]
        left = MARGIN_IN + number * (room_in + GUTTER_IN)
        for r, row in enumerate([head, *part]):
            for c, cell in enumerate(row):
                line = Line(cell, size_pt, bold=r == 0)
                at = left + sum(widths[:c])
                page.write(line, at, top_in + r * line.high_in)


def _deep_share(plan: Laid) -> float:
    """How high is the drawing beside its width?"""
    stakes, pegs = _seen(plan.stake_m), _seen(plan.pegs_m)
    wide = float(np.ptp(stakes[:, 0]))
    return (1.3 * float(pegs[:, 1].max()) + 0.2 * wide) / wide


def crew_map(plan: Laid, units: str) -> bytes:
    """The stakes and pegs from above, the way ahead up, one metre as long in both directions.

    The tapes of the first, the middle and the last stake are drawn; all are in the table.
    Check: tests/unit/pictures/test_crew_map.py.
    """
    figure = blank_figure(9.0, min(7.0, 1.0 + 8.0 * _deep_share(plan)))
    _draw(figure.subplots(), plan, units)
    return png_of(figure)


def _draw(axes: Axes, plan: Laid, units: str) -> None:
    stakes, pegs = _seen(plan.stake_m), _seen(plan.pegs_m)
    axes.plot(*stakes.T, color=chart_ink("text"), linewidth=1.6, zorder=2)
    axes.scatter(stakes[:, 0], stakes[:, 1], marker="|", s=70, color=chart_ink("text"), zorder=3)
    _tapes(axes, plan, stakes, pegs)
    axes.plot(*pegs.T, color=chart_ink("muted"), linewidth=0.8, linestyle="--")
    axes.scatter(pegs[:, 0], pegs[:, 1], marker="^", s=60, color=chart_ink("ours"), zorder=4)
    for name, (x, y) in zip(plan.names, pegs, strict=True):
        axes.annotate(
            name, (x, y), xytext=(0, 8), textcoords="offset points", ha="center", fontsize=9
        )
    axes.scatter(0, 0, marker="s", s=36, color=chart_ink("ours"), zorder=4)
    _words(axes, (0.0, 0.0), -18, "middle peg")
    top = float(pegs[:, 1].max()) * 1.3
    axes.plot([0.0, 0.0], [0.0, top], color=chart_ink("muted"), linewidth=1.2, linestyle=":")
    _words(axes, (0.0, top), 4, "to the sighting mark")
    _boxes(axes, stakes)
    _gun(axes, plan.gun_m)
    _bar(axes, stakes, units)
    _across(axes, plan, top, units)
    if plan.lane:
        _lane(axes, plan.lane, stakes, top)
    axes.set_aspect("equal")
    axes.set_axis_off()


def _across(axes: Axes, plan: Laid, top_m: float, units: str) -> None:
    """Lines across the way ahead: to scale where the drawing reaches so far, else told at its upper edge."""
    stakes = _seen(plan.stake_m)
    left, right = float(stakes[:, 0].min()), float(stakes[:, 0].max())
    beyond = 0
    for name, away in plan.across_m.items():
        told = f"{name}, {length_text(away, units)} ahead"
        y, words = (away, told) if away <= top_m else (top_m, f"\N{UPWARDS ARROW} {told}")
        if away <= top_m:
            axes.plot(
                [left, right], [y, y], color=chart_ink("slowed"), linewidth=1.2, linestyle="-."
            )
        axes.annotate(
            words,
            (left, y),
            (0, -10 - 11 * beyond if away > top_m else 4),
            textcoords="offset points",
            ha="left",
            fontsize=8,
            annotation_clip=False,
            bbox={"facecolor": chart_ink("paper"), "edgecolor": "none", "pad": 0.5},
        )
        beyond += away > top_m


def _lane(axes: Axes, side: str, stakes: Array, top_m: float) -> None:
    """The ambulance's lane beside one end of the line."""
    end = float(stakes[:, 0].min() if side == "left" else stakes[:, 0].max())
    wide = 0.06 * float(np.ptp(stakes[:, 0]))
    inner = end - 0.3 * wide if side == "left" else end + 0.3 * wide
    outer = inner - wide if side == "left" else inner + wide
    low = float(stakes[:, 1].min()) - wide
    axes.fill_between(
        [inner, outer], [low, low], [top_m, top_m], color=chart_ink("rule"), alpha=0.6, linewidth=0
    )
    axes.text(
        (inner + outer) / 2,
        (low + top_m) / 2,
        "ambulance lane",
        rotation=90,
        ha="center",
        va="center",
        fontsize=8,
    )


def _seen(points_m: Array) -> Array:
    """Metres ahead and to the left as the page has them: to the right, and up."""
    return np.stack([-points_m[:, 1], points_m[:, 0]], axis=1)


def _tapes(axes: Axes, plan: Laid, stakes: Array, pegs: Array) -> None:
    for i in (0, len(stakes) // 2, len(stakes) - 1):
        for peg in (plan.left_peg[i], plan.left_peg[i] + 1):
            ends = np.stack([pegs[peg], stakes[i]])
            axes.plot(*ends.T, color=chart_ink("slowed"), linewidth=0.9, zorder=1)


def _boxes(axes: Axes, stakes: Array) -> None:
    """Numbers behind the line, every one of a short line and every fifth of a long one."""
    for number, (x, y) in enumerate((stakes[:-1] + stakes[1:]) / 2, start=1):
        if len(stakes) - 1 <= MOST_NUMBERED or number % 5 == 0 or number == 1:
            _words(axes, (x, y), -7, str(number))


def _gun(axes: Axes, gun_m: Array) -> None:
    """Behind the line, where it stands along it."""
    ((x, y),) = _seen(gun_m[None, :])
    _words(axes, (x, y), -32, "\N{BLACK STAR} gun")


def _bar(axes: Axes, stakes: Array, units: str) -> None:
    """How long are so many metres (or yards) here?"""
    long_m = BAR_M * (METRES_A_YARD if units == "us" else 1.0)
    long_m *= 1.0 if np.ptp(stakes[:, 0]) > 4 * long_m else 0.2
    right, behind = float(stakes[:, 0].max()), float(stakes[:, 1].min())
    ends, y = [right - long_m, right], behind - 0.08 * float(np.ptp(stakes[:, 0]))
    axes.plot(ends, [y, y], color=chart_ink("text"), linewidth=2)
    _words(axes, (right - long_m / 2, y), -4, length_text(long_m, units))


def _words(axes: Axes, at: tuple[float, float], points: float, words: str) -> None:
    """Words so many points above (or, below zero, below) a place."""
    axes.annotate(
        words,
        at,
        (0, points),
        textcoords="offset points",
        ha="center",
        va="top" if points < 0 else "bottom",
        fontsize=8,
        annotation_clip=False,
    )
