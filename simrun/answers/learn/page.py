"""What was learnt, on a page; and the sheet to measure with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simrun.answers.learn.sheet_words import (
    ENOUGH_SENTENCE,
    NOTHING_SENTENCE,
    SHEET,
    SHEET_SENTENCE,
    STEPS,
    count_lines,
    what_words,
)
from simrun.answers.learn.words import (
    FIT,
    HOW_READ,
    LEAST_WORTH,
    NEXT,
    NEXT_READ,
    RANGES,
    Told,
    about_words,
    fit_rows,
    fit_words,
    learnt_rows,
    listed,
    sentence_of,
    title_of,
    use_words,
    worth_it,
    worth_rows,
)
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.numbers import percent
from simrun.pages.page import Figure, Page, Part, table_of
from simrun.trials.learning.sightings import Sighting

MOST_SHEETS = 3


def page_of(told: Told, inputs: Figure | None, fit: Figure | None) -> Page:
    """Everything that was learnt."""
    learnt = told.lesson.is_learnt
    rows = learnt_rows(told) if learnt else []
    text = tuple(words for words in (fit_words(told), use_words(told)) if words)
    next_rows = worth_rows(told)
    next_part = Part(NEXT, (NEXT_READ,), tables=(table_of(next_rows, left=2),))
    fed = bool(told.lesson.sources)
    return Page(
        title=title_of(told),
        sentence=sentence_of(told),
        about=about_words(told),
        first=Part(text=text, figures=(inputs,) if inputs else ()),
        folded=(
            *((Part(RANGES, tables=(table_of(rows),)),) if learnt else ()),
            *((Part(FIT, figures=(fit,) if fit else (), tables=(_fit(told),)),) if fed else ()),
            *((next_part,) if len(next_rows) > 1 else ()),
        ),
        notes=(HOW_READ, LEFT_OUT),
    )


def _fit(told: Told):  # type: ignore[no-untyped-def]
    return table_of(fit_rows(told))


def sheet_of(told: Told) -> Page:
    """How to measure what is worth most, to be printed."""
    wanted = list(_wanted(told))
    return Page(
        title=f"{told.day.name}: {SHEET.lower()}",
        sentence=_sheet_sentence(told, wanted),
        first=Part(parts=tuple(_sheet(each) for each in wanted)),
        one_sheet=True,
    )


def _sheet_sentence(told: Told, wanted: Sequence[Sighting]) -> str:
    """What to measure, that nothing is worth it, or that the races cannot tell."""
    if wanted:
        return SHEET_SENTENCE.format(listed([what_words(each) for each in wanted]))
    return ENOUGH_SENTENCE.format(percent(LEAST_WORTH)) if told.worths else NOTHING_SENTENCE


def _wanted(told: Told) -> Iterator[Sighting]:
    """The most worth, every kind once."""
    kinds: set[str] = set()
    for worth in worth_it(told):
        if worth.sighting.kind not in kinds and len(kinds) < MOST_SHEETS:
            kinds.add(worth.sighting.kind)
            yield worth.sighting


def _sheet(sighting: Sighting) -> Part:
    words = what_words(sighting)
    steps = tuple(f"{i}. {step}" for i, step in enumerate(STEPS[sighting.kind], start=1))
    lines = count_lines(sighting)
    head, *rest = [line.split(",") for line in lines] if lines else [[]]
    tables = (table_of([head, *rest], left=2),) if lines else ()
    return Part(f"{words[0].upper()}{words[1:]}", steps, tables=tables)
