"""The page of running back: the sentence, the chart, every way at one amount in hand; the rest folded."""

from __future__ import annotations

from simrun.answers.chase.words import (
    CANNOT_SAY,
    KICK,
    READING,
    WAYS_WORDS,
    Told,
    about_of,
    back_rows,
    back_title,
    details_of,
    kick_rows,
    kick_words,
    sentence_of,
    title_of,
)
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.page import Figure, Page, Part, table_of
from simrun.pages.racing_words import OPENING_IS_A_SPLIT
from simrun.pages.sure_words import inputs_words


def page_of(told: Told, figure: Figure) -> Page:
    """Everything about running lost seconds back on one page."""
    short = table_of(back_rows(told, told.main_hand_m), back_title(told, told.main_hand_m), left=2)
    return Page(
        title=title_of(told),
        sentence=sentence_of(told),
        about=about_of(told),
        first=Part(text=details_of(told), figures=(figure,), tables=(short,)),
        folded=(*_kick(told), *_other_hands(told)),
        notes=(
            WAYS_WORDS,
            READING,
            inputs_words(told.day),
            CANNOT_SAY,
            OPENING_IS_A_SPLIT,
            LEFT_OUT,
        ),
    )


def _kick(told: Told) -> tuple[Part, ...]:
    if "chase_kick" not in told.tables:
        return ()
    return (Part(KICK, (kick_words(told),), tables=(table_of(kick_rows(told), left=2),)),)


def _other_hands(told: Told) -> tuple[Part, ...]:
    return tuple(
        Part(back_title(told, hand), tables=(table_of(back_rows(told, hand), left=2),))
        for hand in told.hands_m[1:]
    )
