"""A track becomes a scenario: its files are written and read again before anything is said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.course.new_course import new_course
from simrun.answers.course.result import CourseResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import folder_of


def answer(asked: Asked, progress: Progress) -> list[CourseResult]:
    """What `simrun course` does."""
    span_m = (vars(asked)["from"], asked.to)
    how = {"width_m": asked.width, "units": asked.units or "metric", "part": asked.part}
    return [run_course(asked.file, folder_of(asked), span_m=span_m, **how)]


def run_course(source: str | Path, folder: str | Path, **how: Any) -> CourseResult:
    """Which scenario does this track become? It is written at once; how: as of `new_course`.

    Raises BadInput, CannotWrite. Check: tests/journeys/test_course_and_card.py.
    """
    where = Path(folder)
    return CourseResult(new_course(source, where, **how), where, str(source))
