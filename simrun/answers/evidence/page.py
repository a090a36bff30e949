"""The report card as a page: the verdict, the misses with their causes; every question folded."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.sections import Shown
from simrun.answers.evidence.words import (
    ABOUT,
    CAUSES,
    HOW_TO_READ,
    LEAN_ON,
    MISSED,
    STRENGTHS,
    SUBJECT,
    cause_words,
    causes_of,
    check_table,
    effort_words,
    missed_rows,
    sentence_of,
)
from simrun.pages.cautions import CAUTION
from simrun.pages.page import Page, Part, table_of


def page_of(sections: Sequence[Shown], quick: bool) -> Page:
    """The whole report card."""
    rows = [row for section in sections for row in section.rows]
    causes = causes_of(rows)
    return Page(
        title=SUBJECT,
        sentence=sentence_of(rows),
        about=f"{effort_words(quick)} {ABOUT} {LEAN_ON}",
        first=_missed(rows),
        folded=(*(_section(each, causes) for each in sections), Part(HOW_TO_READ, STRENGTHS)),
        caution=CAUTION,
    )


def _missed(rows: Sequence[Check]) -> Part:
    """The misses, and each cause once."""
    if all(row.met for row in rows):
        return Part()
    causes = cause_words(rows)
    why = (Part(CAUSES, causes),) if causes else ()
    return Part(tables=(table_of(missed_rows(rows), MISSED),), parts=why)


def _section(section: Shown, causes: Sequence[str]) -> Part:
    if not section.rows:
        return Part(section.title, section.words, section.figures, section.tables)
    cells = check_table(section.rows, causes)
    marks = {i: "missed" for i, row in enumerate(section.rows) if not row.met}
    table = table_of(cells, left=len(cells[0]), marks=marks)
    return Part(section.title, section.words, section.figures, (table,))
