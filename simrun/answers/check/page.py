"""The page of an inspection: the sentence, the line from above, the course in figures; the rest folded."""

from __future__ import annotations

from simrun.answers.check.words import (
    BESIDE,
    LENGTHS,
    Told,
    aimed_words,
    box_rows,
    fact_rows,
    guidance_rows,
    length_rows,
    narrow_rows,
    narrow_words,
)
from simrun.pages.cautions import CAUTION
from simrun.pages.page import Figure, Page, Part, Table, table_of

WORDS = 6


def page_of(told: Told, sentence: str, line: Figure) -> Page:
    """Everything about the course on one page."""
    report, found, units = told.report, told.inspection, told.units
    facts = [["course", ""], *fact_rows(report, units)]
    return Page(
        title=f"{report.name}: course inspection",
        sentence=sentence,
        first=Part(
            text=tuple(filter(None, (aimed_words(told),))),
            figures=(line,),
            tables=(table_of(facts, left=2),),
        ),
        folded=(
            Part(BESIDE, tables=(_guidance(guidance_rows(found, units)),)),
            Part("Extra way from every box", tables=(table_of(box_rows(report, units), left=2),)),
            Part(
                LENGTHS, tables=(table_of([["how far off", "length"], *length_rows(found, units)]),)
            ),
            _narrow(told),
        ),
        caution=CAUTION,
    )


def _guidance(rows: list[list[str]]) -> Table:
    """The sayings; those that the course is outside of stand out."""
    outside = {i: "missed" for i, row in enumerate(rows[1:]) if row[2] in ("below", "above")}
    return table_of(rows, left=WORDS, marks=outside)


def _narrow(told: Told) -> Part:
    rows = narrow_rows(told.inspection, told.units)
    if not rows:
        return Part(narrow_words(told.units), ("Nowhere.",))
    table = table_of([["stretch", "narrowest", "from and to"], *rows])
    return Part(narrow_words(told.units), tables=(table,))
