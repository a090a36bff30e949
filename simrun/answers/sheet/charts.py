"""The sheet on paper, and the box as a picture for the phone."""

from __future__ import annotations

from simrun.answers.sheet.sheet_marks import SheetMark, drop_order
from simrun.answers.sheet.sheet_records import SheetFigures, Told
from simrun.answers.sheet.words import (
    BEFORE,
    LEFT_FOR_THE_PHONE,
    PARENTS,
    RECALL,
    ahead_words,
    box_words,
    foot_of,
    heads_of,
    mark_cells,
    mark_words,
    near_cell,
    near_said,
    recall_words,
    rows_of,
    said_of,
    seen_of,
    sentence_of,
    stretch_words,
)
from simrun.base.units import length_text
from simrun.pictures.charts.box_map import Standing, box_picture
from simrun.pictures.charts.clipboard import Clipboard, SheetRow, clipboard_sheet
from simrun.pictures.charts.sheet_paper import Paper


def standing_of(figures: SheetFigures) -> Standing:
    """The box as it is drawn."""
    stand = figures.stand
    box = f"box {stand.box}" if stand.box else "box to be drawn"
    ahead = f"{stand.ahead}, {length_text(stand.ahead_m, figures.units)}" if stand.ahead else ""
    return Standing(rows_of(stand), box, stand.left, stand.right, ahead)


def box_png(figures: SheetFigures) -> bytes:
    """The box with its names as a PNG."""
    return box_picture(standing_of(figures))


def sheet_on(figures: SheetFigures, paper: str) -> Paper:
    """The whole sheet on A4 or Letter."""
    return clipboard_sheet(clipboard_of(figures), paper)


def _weight(told: Told, order: list[SheetMark]) -> float:
    """What is left out first weighs least; a mark with a place to be more than any other."""
    rank = order.index(told.mark) if told.mark in order else len(order)
    return rank + (len(order) if told.free_place or told.mark.stages else 0)


def clipboard_of(figures: SheetFigures) -> Clipboard:
    """Everything that is written on the sheet, as text."""
    day, stand, units = figures.day, figures.stand, figures.units
    gun, *_ = figures.marks
    order = drop_order([told.mark for told in figures.marks])
    before = [box_words(stand), ahead_words(stand, units)]
    marks = tuple(
        SheetRow(
            mark_words(told.mark, units),
            length_text(told.mark.at_m, units),
            said_of(told, figures),
            mark_cells(told),
            _weight(told, order),
        )
        for told in figures.marks
        if told is not gun or said_of(told, figures) != ("Go out.",)
    )
    near = tuple(
        SheetRow(
            stretch_words(stretch, units),
            "",
            near_said(stretch, figures),
            tuple(near_cell(near, stand, units) for near in stretch.near),
        )
        for stretch in figures.stretches
    )
    return Clipboard(
        stand.team,
        day.name,
        sentence_of(figures),
        standing_of(figures),
        (
            (BEFORE, tuple(part for part in before if part)),
            (RECALL, (recall_words(stand),)),
        ),
        ((PARENTS, seen_of(figures)),),
        tuple(who.short for who in stand.who),
        heads_of(units),
        marks,
        near,
        foot_of(figures),
        LEFT_FOR_THE_PHONE,
    )
