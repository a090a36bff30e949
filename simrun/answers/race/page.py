"""The page of one race: the sentence, the chart by box, our team; the rest folded."""

from __future__ import annotations

from simrun.answers.race import finish_words
from simrun.answers.race import raced_words as raced
from simrun.answers.race.words import (
    Told,
    about_of,
    by_words,
    leader_rows,
    loss_rows,
    reading_of,
    team_rows,
    team_words,
)
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.page import Figure, Page, Part, Table, ours_marked, table_of

FEW_MARKS = 3


def page_of(told: Told, sentence: str, figure: Figure) -> Page:
    """Everything about one race on one page."""
    finish = (_finish(told),) if "finish" in told.tables else ()
    return Page(
        title=f"{told.recording.scenario.name}: one race",
        sentence=sentence,
        about=about_of(told),
        first=Part(figures=(figure,), tables=(_short(told),)),
        folded=(
            *finish,
            *_raced(told),
            Part("Who was where, and when", tables=(table_of(leader_rows(told)), *_ours(told))),
            *(_lost(told, mark) for mark in told.marks),
        ),
        notes=(reading_of(told), LEFT_OUT),
    )


def _short(told: Told) -> Table:
    """Our team at the marks that matter; without a team of ours the boxes at the last mark."""
    if told.our_box is None:
        return _by(told, "box", told.last)
    return table_of(team_rows(told, FEW_MARKS), team_words(told))


def _raced(told: Told) -> tuple[Part, ...]:
    """Of a race for places: openings in seconds, and what ours have left at every checkpoint."""
    if not told.is_raced:
        return ()
    recording, opened = told.recording, told.tables["openings"]
    tables = [table_of(raced.opening_rows(recording, opened, told.units), raced.OPENINGS)]
    text = raced.raced_words(recording, told.tables, told.last, told.units)
    if told.our_box is not None:
        rows = raced.left_rows(recording, told.some_marks(len(told.marks)), told.units)
        tables.append(table_of(rows, raced.left_words(str(told.team))))
        text.append(raced.LEFT_READING)
    return (Part("Openings, and what is left", tuple(text), tables=tuple(tables)),)


def _ours(told: Told) -> list[Table]:
    if told.our_box is None or len(told.marks) <= FEW_MARKS:
        return []
    return [table_of(team_rows(told, len(told.marks)), team_words(told))]


def _lost(told: Told, mark: str) -> Part:
    tables = (_by(told, "box", mark), _by(told, "line", mark))
    return Part(f"Seconds lost at {mark}, by box and by line", tables=tables)


def _by(told: Told, by: str, mark: str) -> Table:
    """A table of boxes or lines, our box standing out."""
    rows = loss_rows(told, by, mark)
    ours = str(told.our_box) if by == "box" else None
    return table_of(rows, by_words(by, mark), marks=ours_marked(rows, ours))


def _finish(told: Told) -> Part:
    recording, tables = told.recording, told.tables
    runners = finish_words.runner_rows(recording, tables["finish"])
    scores = finish_words.score_rows(tables["teams"], told.team)
    thirds = finish_words.thirds_rows(tables["carried"], told.units)
    missing = finish_words.missing_words(tables["finish"])
    ours = {i: "ours" for i, row in enumerate(runners[1:]) if row[2] == told.team}
    teams = {i: "ours" for i, row in enumerate(scores[1:]) if row[1] == told.team}
    return Part(
        "At the finish",
        tuple(text for text in (missing, finish_words.reading_of(recording)) if text),
        tables=(
            table_of(runners, left=3, marks=ours),
            table_of(scores, finish_words.SCORES, left=2, marks=teams),
            table_of(thirds, finish_words.thirds_words(recording)),
        ),
    )
