"""The sheet for a phone: the same sentences one below the other, and a table for each of ours."""

from __future__ import annotations

from simrun.answers.sheet.sheet_records import SheetFigures
from simrun.answers.sheet.words import (
    BEFORE,
    MARK_BY_MARK,
    NOT_ALONE,
    PARENTS,
    RECALL,
    TOGETHER,
    ahead_words,
    box_words,
    foot_of,
    mark_cells,
    mark_words,
    near_cell,
    near_said,
    place_words,
    recall_words,
    said_of,
    seen_of,
    sentence_of,
    stretch_words,
    title_of,
)
from simrun.pages.page import Figure, Page, Part, table_of

MARKS_HEAD = ("mark", "what to do")
RUNNER_HEAD = ("mark", "time", "range", "place")
NEAR_HEAD = ("stretch", "nearest of ours", "how far", "near")


def page_of(figures: SheetFigures, box: Figure) -> Page:
    """The page: the box, every mark, recall and parents at once; each of ours folded."""
    stand = figures.stand
    first = Part(
        parts=(
            Part(BEFORE, (box_words(stand), ahead_words(stand, figures.units)), (box,)),
            Part(MARK_BY_MARK, tables=(_marks(figures),)),
            Part(RECALL, (recall_words(stand),)),
            Part(PARENTS, seen_of(figures)),
        )
    )
    each = tuple(_runner(k, figures) for k in range(len(stand.who)))
    return Page(
        title=title_of(figures),
        sentence=sentence_of(figures),
        first=first,
        folded=(*each, _together(figures)),
        notes=foot_of(figures),
    )


def _marks(figures: SheetFigures):  # type: ignore[no-untyped-def]
    units = figures.units
    rows = [
        (place_words(told.mark, units), " ".join(said_of(told, figures))) for told in figures.marks
    ]
    return table_of([MARKS_HEAD, *rows], left=2)


def _runner(k: int, figures: SheetFigures) -> Part:
    """One of ours: time and place at every mark, and who is near."""
    units, who = figures.units, figures.stand.who[k]
    times = [
        (mark_words(told.mark, units), *mark_cells(told)[k])
        for told in figures.marks
        if told.time_s
    ]
    near = [
        (stretch_words(stretch, units), *near_cell(stretch.near[k], figures.stand, units))
        for stretch in figures.stretches
    ]
    tables = (table_of([RUNNER_HEAD, *times]), table_of([NEAR_HEAD, *near], left=2))
    return Part(who.name, tables=tables)


def _together(figures: SheetFigures) -> Part:
    """What is said of every stretch: who is alone, which rivals are near."""
    parts = tuple(
        Part(stretch_words(stretch, figures.units), said)
        for stretch in figures.stretches
        if (said := near_said(stretch, figures))
    )
    return Part(TOGETHER, () if parts else (NOT_ALONE,), parts=parts)
