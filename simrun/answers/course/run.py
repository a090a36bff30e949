"""A track becomes a scenario: its files are written and read again before anything is said."""

from __future__ import annotations

from simrun.answers.course.new_course import new_course
from simrun.answers.course.result import CourseResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import folder_of


def answer(asked: Asked, progress: Progress) -> list[CourseResult]:
    """What `simrun course` does."""
    span_m = (vars(asked)["from"], asked.to)
    how = {"width_m": asked.width, "units": asked.units or "metric"}
    folder = folder_of(asked)
    found = new_course(asked.file, folder, part=asked.part, span_m=span_m, **how)
    return [CourseResult(found, folder, asked.file)]
