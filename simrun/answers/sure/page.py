"""How sure three answers are, on a page: the sentence, both ranges side by side, what they hang on."""

from __future__ import annotations

from simrun.answers.sure.words import (
    HANGS_ON,
    READING,
    Told,
    about_words,
    hang_rows,
    hang_words,
    plan_words,
    range_rows,
    sentence_of,
    title_of,
)
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.page import Page, Part, table_of
from simrun.pages.sure_words import inputs_words


def page_of(told: Told) -> Page:
    """Everything about how sure the answers are."""
    text = (*hang_words(told), *plan_words(told))
    folded = (Part(HANGS_ON, tables=(table_of(hang_rows(told), left=2),)),) if told.rows else ()
    return Page(
        title=title_of(told),
        sentence=sentence_of(told),
        about=about_words(told),
        first=Part(text=text, tables=(table_of(range_rows(told)),)),
        folded=folded,
        notes=(READING, inputs_words(told.day), LEFT_OUT),
    )
