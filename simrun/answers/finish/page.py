"""The page of the finish: the sentence, points by team, our places; last year's race folded."""

from __future__ import annotations

from simrun.answers.finish.words import (
    AGAINST,
    STRETCHES,
    TEAMS,
    Told,
    against_rows,
    against_words,
    chance_of,
    our_rows,
    our_title,
    reading_of,
    sentence_of,
    stretch_rows,
    team_rows,
    unknown_words,
    unscored_words,
)
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.page import Figure, Page, Part, ours_marked, table_of
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import inputs_words


def page_of(told: Told, points: Figure) -> Page:
    """Everything about the finish on one page."""
    invented = "Invented world. " if told.day.invented else ""
    scores = team_rows(told)
    tables = [table_of(scores, TEAMS, marks=ours_marked(scores, told.day.our_team))]
    if "finish_ours" in told.tables:
        tables.append(table_of(our_rows(told), our_title(told)))
    said = (racing_words(told.day), reading_of(told), inputs_words(told.day))
    notes = (*said, unscored_words(told), LEFT_OUT)
    text = (chance,) if (chance := chance_of(told)) else ()
    return Page(
        title=f"{told.day.name}: where do the teams finish?",
        sentence=sentence_of(told),
        about=f"{invented}{told.races} races, {told.day.runners} runners.",
        first=Part(text=text, figures=(points,), tables=tuple(tables)),
        folded=_last_year(told),
        notes=notes,
    )


def _last_year(told: Told) -> tuple[Part, ...]:
    if "finish_results" not in told.tables:
        return ()
    text = (*against_words(told), *unknown_words(told))
    stretches = stretch_rows(told)
    tables = (table_of(stretches, STRETCHES),) if stretches else ()
    return (Part(AGAINST, text, tables=(*tables, table_of(against_rows(told), left=2))),)
