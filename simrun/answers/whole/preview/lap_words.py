"""The same place each lap, side by side: what changes, and only where something does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from simrun.answers.sheet.sheet_records import SheetFigures
from simrun.answers.sheet.words import free_words, ground_words, line_words
from simrun.answers.whole.preview.chapters import LAP, Chapter, each_again
from simrun.answers.whole.preview.words import title_words
from simrun.pages.page import Part, table_of

LAPS = "The same place each lap"
NOT_TOLD = "nothing told"


def laps_part(chapters: Sequence[Chapter], figures: SheetFigures) -> Part | None:
    """A table for every place that is told otherwise on another lap; None where none is.

    Check: tests/journeys/test_preview.py (one lap has none; the same words on both laps have none).
    """
    tables = []
    for same in each_again(chapters):
        rows = [row for row in lap_rows(same, figures) if row is not None]
        if rows:
            head = ["", *(f"lap {number}" for number in range(1, len(same) + 1))]
            name = title_words(same[0], figures.units).partition(LAP)[0]
            tables.append(table_of([head, *rows], name, left=1 + len(same)))
    return Part(LAPS, tables=tuple(tables)) if tables else None


def lap_rows(same: Sequence[Chapter], figures: SheetFigures) -> list[list[str] | None]:
    """What is told of one place on every lap, question by question; None for what stays the same."""
    told = [chapter.told for chapter in same]
    notes = [chapter.place.note if chapter.place else "" for chapter in same]
    words = [each.passing.word if each.passing else "" for each in told]
    # One lap's next mark may lie behind another turn: only turns of every lap are held against one another.
    turns = set.intersection(*({line[0] for line in each.lines} for each in told))
    lines = [tuple(line for line in each.lines if line[0] in turns) for each in told]
    return [
        _row("where to be", [free_words(each) for each in told]),
        _row(
            "which line",
            [line_words(replace(t, lines=of), figures) for t, of in zip(told, lines, strict=True)],
        ),
        # A share that differs by one in ten is no change: sit, move or choose is.
        _row("room to pass", [ground_words(each) for each in told], words),
        _row("coach", notes),
    ]


def _row(what: str, said: list[str], by: Sequence[str] | None = None) -> list[str] | None:
    if len(set(by if by is not None else said)) < 2 or not any(said):
        return None
    return [what, *(text or NOT_TOLD for text in said)]
