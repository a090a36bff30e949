"""The page of somebody down: the sentence, who was late by how much, three figures; the cautions."""

from __future__ import annotations

from simrun.answers.disturb.words import (
    NO_FORECAST,
    READING,
    Told,
    details_of,
    figure_rows,
    sentence_of,
    title_of,
)
from simrun.pages.cautions import CAUTION, LEFT_OUT
from simrun.pages.page import Figure, Page, Part, table_of
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import inputs_words


def page_of(told: Told, ripple: Figure) -> Page:
    """Everything about the disturbance on one page."""
    since, *more = details_of(told)
    invented = "Invented world. " if told.day.invented else ""
    return Page(
        title=title_of(told),
        sentence=sentence_of(told),
        about=f"{invented}{since} {NO_FORECAST}",
        first=Part(text=tuple(more), figures=(ripple,), tables=(table_of(figure_rows(told)),)),
        notes=(racing_words(told.day), READING, inputs_words(told.day), LEFT_OUT),
        caution=CAUTION,
    )
