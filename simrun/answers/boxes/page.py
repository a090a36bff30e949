"""The page of every box: the sentence, the chart, the boxes in a short table; the rest folded."""

from __future__ import annotations

from simrun.answers.boxes.cost_words import Told, at
from simrun.answers.boxes.words import (
    MEANS,
    box_rows,
    line_rows,
    parts_reading,
    reading_of,
    short_rows,
)
from simrun.pages.cautions import CAUTION, LEFT_OUT
from simrun.pages.page import Figure, Page, Part, Table, ours_marked, table_of
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import inputs_words


def page_of(told: Told, sentence: str, figures: tuple[Figure, Figure]) -> Page:
    """Everything about the boxes on one page."""
    chart, line = figures
    invented = "Invented world. " if told.day.invented else ""
    races = f"{invented}{len(told.samples[0].box)} races, {told.day.runners} runners."
    return Page(
        title=f"{told.day.name}: what does every box cost?",
        sentence=sentence,
        about=races,
        first=Part(figures=(chart,), tables=(_boxes(told, short_rows(told)),)),
        folded=(Part("The start line in color", figures=(line,)), *_questions(told)),
        notes=(
            racing_words(told.day),
            reading_of(told),
            inputs_words(told.day),
            parts_reading(told),
            LEFT_OUT,
        ),
        caution=CAUTION,
    )


def _questions(told: Told) -> list[Part]:
    parts = []
    for sample, cells in zip(told.samples, told.cells, strict=True):
        marks = []
        for name in sample.checkpoints:
            rows = box_rows(at(cells, name))
            lines = line_rows(cells, name, sample.lines)
            caption = "Seconds lost by line, mean and 95 % range"
            tables = (_boxes(told, rows), _boxes(told, lines, caption))
            marks.append(Part(f"At {name}", tables=tables))
        title = f"Mark by mark: {sample.question}"
        parts.append(Part(title, (MEANS[sample.question],), parts=tuple(marks)))
    return parts


def _boxes(told: Told, rows: list[list[str]], caption: str = "") -> Table:
    """A table of boxes in which ours stands out."""
    ours = None if told.our_box is None else str(told.our_box)
    return table_of(rows, caption, marks=ours_marked(rows, ours))
