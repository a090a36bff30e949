"""What a watch cannot know of a course: a list of questions with their places, and the answers to it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.list_rows import plain_name, rows_of, shortened
from simrun.scenario.named_files import file_words, read_list
from simrun.scenario.tables.lengths import LENGTH_WORDS, length_m
from simrun.scenario.tables.schema import MOST_BOXES, NARROWEST_M, WIDEST_M
from simrun.scenario.tables.values import RefusedError

HEAD = ("ask", "question", "at", "latitude", "longitude", "assumed", "answer")

STRETCH = "width of stretch "
LINE, BOXES, BOX, ROW = "width of the line", "boxes", "width of a box", "front row"
WIDE, NARROWED, COURSE = "wide for", "narrowed at", "width of the course"

LENGTHS = (LINE, BOX, WIDE, NARROWED, COURSE)
COUNTS = {BOXES: MOST_BOXES, ROW: 12}
MOST_STRETCHES = 300


@dataclass(frozen=True)
class Question:
    """One thing to be measured or asked, where, and what is assumed until then. answer: as it was given."""

    ask: str
    question: str
    at: str
    degree: tuple[float, float]
    assumed: str
    answer: str = ""


def questions_text(questions: Sequence[Question]) -> str:
    """The questions as a list that a spreadsheet opens; the last column is to be filled in."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEAD)
    for asked in questions:
        longitude, latitude = asked.degree
        place = (f"{latitude:.6f}", f"{longitude:.6f}")
        writer.writerow((asked.ask, asked.question, asked.at, *place, asked.assumed, asked.answer))
    return text.getvalue()


def answers_of(path: Path) -> dict[str, str]:
    """What was answered, by what was asked; what is blank is left out. Raises BadInput naming the line.

    Check: tests/unit/answers/test_course_questions.py.
    """
    file = file_words(path)
    rows = list(rows_of(read_list(path), file, HEAD))
    head = [plain_name(cell) for cell in rows[0][1]] if rows else []
    if "ask" not in head or "answer" not in head:
        allowed = "the columns ask and answer, as simrun course writes them"
        raise BadInput(Problem("line 1", "other columns" if head else "empty", allowed, file=file))
    answers: dict[str, str] = {}
    problems = []
    for line, cells in rows[1:]:
        ask, answer = (_cell(cells, head.index(name)) for name in ("ask", "answer"))
        if not answer:
            continue
        try:
            value_of(ask, answer)
        except RefusedError as wrong:
            problems.append(
                Problem(f"line {line}, {shortened(ask)}", wrong.found, wrong.allowed, wrong.nearest)
            )
        if ask in answers:
            problems.append(
                Problem(f"line {line}, {shortened(ask)}", "asked twice", "every question once")
            )
        answers[ask] = answer
    if problems:
        raise BadInput(problems).in_file(file)
    return answers


def _cell(cells: Sequence[str], at: int) -> str:
    return cells[at].strip() if at < len(cells) else ""


def value_of(ask: str, answer: str) -> float:
    """The metres, or the number, of an answer. Raises RefusedError."""
    if ask in COUNTS:
        if not (answer.isdecimal() and 1 <= int(answer[:6]) <= COUNTS[ask]):
            raise RefusedError(repr(shortened(answer)), f"a whole number from 1 to {COUNTS[ask]}")
        return int(answer)
    number = ask.removeprefix(STRETCH)
    if ask not in LENGTHS and not (ask.startswith(STRETCH) and number.isdecimal()):
        near = nearest_word(ask, [*LENGTHS, *COUNTS, STRETCH + "1"])
        raise RefusedError("no such question", "one of those that simrun course wrote", near)
    plain = answer.replace(".", "", 1).isdecimal() and len(answer) < 12
    metres = length_m(float(answer) if plain else answer)
    most = 5000.0 if ask in (WIDE, NARROWED) else WIDEST_M
    if not NARROWEST_M <= metres <= most:
        allowed = f"{NARROWEST_M:g} to {most:g} m ({LENGTH_WORDS})"
        raise RefusedError(repr(shortened(answer)), allowed)
    return metres


@dataclass(frozen=True)
class Told:
    """What is known: by an option, else by an answer, else assumed."""

    options: Mapping[str, Any]
    answers: Mapping[str, str]

    def is_known(self, ask: str) -> bool:
        """Did somebody say it?"""
        return self.options.get(ask) is not None or ask in self.answers

    def value(self, ask: str, assumed: float) -> float:
        """What holds."""
        if self.options.get(ask) is not None:
            return float(self.options[ask])
        return value_of(ask, self.answers[ask]) if ask in self.answers else assumed

    def words(self, ask: str, shown: Callable[[float], str]) -> str:
        """What stands in the column of the answers: as it was answered, else as an option says it."""
        option = self.options.get(ask)
        return self.answers.get(ask, "") if option is None else shown(float(option))

    @property
    def stretches(self) -> dict[int, float]:
        """The widths of stretches that were answered, by their numbers."""
        asked = [ask for ask in self.answers if ask.startswith(STRETCH)]
        return {int(ask.removeprefix(STRETCH)): value_of(ask, self.answers[ask]) for ask in asked}
