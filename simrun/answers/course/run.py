"""A track becomes a scenario: its files are written and read again before anything is said."""

from __future__ import annotations

from pathlib import Path

from simrun.answers.course.new_course import AskedCourse, new_course
from simrun.answers.course.questions import BOX, BOXES, COURSE, LINE, ROW, Told, answers_of
from simrun.answers.course.result import CourseResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.papers import papers_of


def answer(asked: Asked, progress: Progress) -> list[CourseResult]:
    """What `simrun course` does."""
    known = {
        COURSE: asked.width,
        LINE: asked.start_width,
        BOXES: asked.boxes,
        BOX: asked.box_width,
        ROW: asked.front_row,
    }
    answers = answers_of(asked.answers) if asked.answers else {}
    course = AskedCourse(
        width_m=asked.width,
        units=asked.units or "metric",
        part=asked.part,
        span_m=(vars(asked)["from"], asked.to),
        told=Told(known, answers),
        papers=papers_of(asked),
        anew=asked.answers is not None,
    )
    folder = asked.out or Path("outputs") / Path(asked.file).stem
    return [run_course(asked.file, folder, course)]


def run_course(
    source: str | Path, folder: str | Path, asked: AskedCourse | None = None
) -> CourseResult:
    """Which scenario does this track become? It is written at once.

    Raises BadInput, CannotWrite. Check: tests/journeys/test_course_and_card.py.
    """
    where = Path(folder)
    return CourseResult(new_course(source, where, asked or AskedCourse()), where, str(source))
