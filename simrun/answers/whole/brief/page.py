"""The page of a brief: the sentence, what each change brings, our runners mark by mark; scores folded."""

from __future__ import annotations

from simrun.answers.whole.brief.brief_rows import runner_rows, teams_rows, what_if_rows
from simrun.answers.whole.brief.words import (
    Told,
    about_of,
    differ_words,
    notes_of,
    runners_title,
    sentence_of,
    title_of,
)
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.page import Figure, Page, Part, ours_marked, table_of
from simrun.pages.sure_words import inputs_words


def page_of(told: Told, picture: Figure) -> Page:
    """Everything that a coach asks, in the order in which it is asked."""
    scores = teams_rows(told)
    teams = table_of(scores, marks=ours_marked(scores, told.day.our_team))
    changes = table_of(what_if_rows(told), "What changes")
    return Page(
        title=title_of(told),
        sentence=sentence_of(told),
        about=about_of(told),
        first=Part(
            text=tuple(differ_words(told)),
            figures=(picture,),
            tables=(changes, table_of(runner_rows(told), runners_title(told))),
        ),
        folded=(Part("Team scores at the finish", tables=(teams,)),),
        notes=(*notes_of(told), inputs_words(told.day), LEFT_OUT),
    )
