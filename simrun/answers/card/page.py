"""The course card as one page that prints on two sheets; the PDF beside it is the one sheet."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.card.words import (
    READING,
    Told,
    card_rows,
    rests_on,
    sentence_of,
    title_of,
)
from simrun.measure.passing import MOVE, SIT
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.page import Figure, Page, Part, table_of
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import short_inputs_words
from simrun.pictures.charts.card_sheet import HEAD
from simrun.scenario.scenario import Scenario


def page_of(scenario: Scenario, rows: Sequence[Told], how: tuple[str, int], course: Figure) -> Page:
    """The card. how: units, and how many races it rests on."""
    units, seeds = how
    marks = {i: row.word for i, row in enumerate(rows) if row.word in (SIT, MOVE)}
    table = table_of([HEAD, *card_rows(rows, units)], left=len(HEAD), marks=marks)
    return Page(
        title=title_of(scenario, units),
        sentence=sentence_of(rows),
        about=rests_on(scenario, seeds),
        first=Part(figures=(course,), tables=(table,)),
        notes=(
            racing_words(scenario),
            f"{READING} {short_inputs_words(scenario)} {LEFT_OUT}",
        ),
        two_sheets=True,
    )
