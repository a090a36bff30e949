"""The page of a side: the sentence, a bar a box, orders to ours; mark by mark folded."""

from __future__ import annotations

from simrun.answers.side.side_found import SideFound
from simrun.answers.side.words import (
    LAST,
    READING,
    about_words,
    box_rows,
    our_rows,
    sentence_of,
    title_of,
    turn_words,
    where_rows,
)
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.page import Figure, Page, Part, ours_marked, table_of
from simrun.pages.sure_words import inputs_words


def page_of(found: SideFound, figure: Figure) -> Page:
    """Everything about getting to the good side on one page."""
    rows = box_rows(found)
    marked = ours_marked(rows, str(found.our_box) if found.our_box else None)
    boxes = table_of(rows, marks=marked)
    told: tuple[Part, ...] = ()
    first = Part(text=tuple(filter(None, [turn_words(found)])), figures=(figure,))
    if found.team is not None:
        first = Part(text=first.text, figures=first.figures, tables=(table_of(our_rows(found)),))
        late = table_of(where_rows(found))
        told = (
            (Part("Where it is too late to cross", (LAST,), tables=(late,)),) if found.where else ()
        )
    return Page(
        title=title_of(found),
        sentence=sentence_of(found),
        about=about_words(found),
        first=first,
        folded=(*told, Part("Every box", tables=(boxes,))),
        notes=(READING, inputs_words(found.day), LEFT_OUT),
    )
