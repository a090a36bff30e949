"""The scenario that was made of a track."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.course.new_course import NewCourse
from simrun.answers.course.words import next_of, sentence_of, text_of, watched_sentence
from simrun.answers.kind import Progress, Result
from simrun.base.writing import write_bytes
from simrun.pictures.charts.course_map import write_picture

if TYPE_CHECKING:
    import pandas

PROFILE_STEP_M = 50.0


@dataclass(frozen=True)
class CourseResult(Result):
    """The new scenario with its files. source: the track it came from."""

    found: NewCourse
    folder: Path
    source: str

    @property
    def units(self) -> str:  # type: ignore[override]
        """As the scenario says."""
        return self.found.scenario.units

    @property
    def subject(self) -> str:
        """The name of the new scenario."""
        return self.found.scenario.name

    @property
    def file(self) -> str:
        """The track's file."""
        return self.source

    @property
    def sentence(self) -> str:
        """How long the course is, and what is missing."""
        measured_m = self.found.scenario.strip.length_m
        if self.found.run_m:
            lengths_m, is_open = (self.found.run_m, measured_m), self.found.questions > 0
            return watched_sentence(self.subject, lengths_m, self.units, is_open)
        return sentence_of(self.subject, measured_m, self.units)

    @property
    def text(self) -> str:
        """The sentence, what was dropped, smoothed and assumed, and the question for the widths."""
        if not self.found.run_m:
            return text_of(self.sentence, self.found.told)
        file = next(path for path in self.found.files if path.name.endswith("_questions.csv"))
        after = next_of(str(file), self.found.questions)
        return text_of(self.sentence, self.found.told, after)

    @property
    def figures(self) -> Mapping[str, Any]:
        """The length, and what was dropped, smoothed and assumed."""
        found = self.found
        figures = {"length_m": found.scenario.strip.length_m, "told": list(found.told)}
        return figures | (
            {"run_m": found.run_m, "questions": found.questions} if found.run_m else {}
        )

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """profile: height and width every 50 m of the measured line."""
        import pandas as pd

        strip = self.found.scenario.strip
        at = np.arange(0.0, strip.length_m, PROFILE_STEP_M)
        columns = {"height_m": strip.height_m, "width_m": strip.width_m}
        values = {name: np.interp(at, strip.station_m, column) for name, column in columns.items()}
        return {"profile": pd.DataFrame({"at_m": at, **values})}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """The map beside the scenario and its drawing, which stand there already; elsewhere copies of them.

        Raises CannotWrite.
        """
        where = Path(folder) if folder else self.folder
        files = list(self.found.files)
        if where.resolve() != self.folder.resolve():
            files = [write_bytes(where / file.name, file.read_bytes()) for file in files]
        picture = where / files[-1].with_suffix(".png").name
        return [*files, write_picture(self.found.scenario, self.units, picture)]
