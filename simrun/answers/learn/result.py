"""What was learnt: ranges, whether they give what was seen, what to measure next, and the file to use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress
from simrun.answers.learn.charts import fit_chart, inputs_chart
from simrun.answers.learn.page import page_of, sheet_of
from simrun.answers.learn.words import (
    FIT_ALT,
    INPUTS_ALT,
    Told,
    figure_words,
    sentence_of,
    text_of,
)
from simrun.answers.of_races import OfStudy
from simrun.base.csv import write_csv
from simrun.base.writing import write_text
from simrun.pages.frame import write_page
from simrun.pages.input_words import INPUT_WORDS
from simrun.pages.page import Figure
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.learnt_sample import learnt_text
from simrun.sources.assumed import assumed_inputs
from simrun.trials.learning.agreement import weighted_ends
from simrun.trials.learning.lesson import Lesson
from simrun.trials.learning.next_measure import Worth

if TYPE_CHECKING:
    import pandas

STORE = "learn_races.db"
MOST_PANELS = 9


@dataclass(frozen=True)
class LearnResult(OfStudy):
    """lesson: what was learnt. told: figures of every source in new races at that. worths: what is next."""

    day: Scenario
    lesson: Lesson
    told: Sequence[Any]
    worths: Sequence[Worth]
    learnt_file: str
    folder: Path
    units: str

    @property
    def _told(self) -> Told:
        return Told(self.day, self.lesson, self.told, self.worths, self.learnt_file)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """learn: a row an input, before and after; learn_fit: a row a figure that was fed in; learn_next."""
        import pandas as pd

        return {
            "learn": pd.DataFrame(self._input_rows()),
            "learn_fit": pd.DataFrame(self._fit_rows()),
            "learn_next": pd.DataFrame(self._next_rows()),
        }

    def _input_rows(self) -> list[dict[str, Any]]:
        lesson = self.lesson
        low, high = lesson.ends
        ranges = lesson.ranges() if lesson.is_learnt else {}
        rows = []
        for i, key in enumerate(lesson.table.keys):
            after = ranges.get(key, (float("nan"),) * 3)
            seen = float(lesson.learner.seen[i]) if lesson.learner else float("nan")
            row = {"input": key, "unit": assumed_inputs()[key].unit, "range_low": low[i]}
            row |= {"range_high": high[i], "learnt_low": after[0], "learnt_middle": after[1]}
            rows.append(row | {"learnt_high": after[2], "foretold_share": seen})
        return rows

    def _fit_rows(self) -> list[dict[str, Any]]:
        lesson = self.lesson
        rows = []
        for number, source in enumerate(lesson.sources):
            others = {lesson.used[one.source]: one.share for one in lesson.others}
            fit = {lesson.used[one.source]: one.share for one in lesson.fit}
            for f, (sighting, name) in enumerate(source.figures):
                row: dict[str, Any] = {
                    "source": source.name,
                    "kind": sighting.kind,
                    "place": " to ".join(sighting.place),
                }
                row |= {"figure": name, "seen": source.seen[f]}
                row |= _ends("any", lesson.figures[number][:, f])
                row |= _ends("learnt", self.told[number][:, f] if len(self.told) else None)
                row |= {"used": number in lesson.used, "share_any": lesson.any[number].share}
                row |= {"share_others": others.get(number, float("nan"))}
                rows.append(row | {"share_learnt": fit.get(number, float("nan"))})
        return rows

    def _next_rows(self) -> list[dict[str, Any]]:
        return [
            {
                "kind": worth.sighting.kind,
                "place": " to ".join(worth.sighting.place),
                "answer": worth.answer,
                "now_s": worth.now_s,
                "then_s": worth.then_s,
            }
            for worth in self.worths
        ]

    @property
    def sentence(self) -> str:
        """What is known better now, or why nothing is."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence, the ranges, whether they fit, how to use them, what to measure next."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races, whether anything was learnt, and in which file it stands."""
        lesson = self.lesson
        return {
            "races": len(lesson.table.races),
            "learnt": lesson.is_learnt,
            "contradicts": lesson.contradicts,
            "learnt_file": self.learnt_file if lesson.is_learnt else "",
        }

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """learn.csv, learn_fit.csv, learn_next.csv, learn.html, measure.html and, where anything was learnt,
        the file of its draws; learn_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        tables = {name: table for name, table in self.tables.items() if len(table)}
        written = [write_csv(table, where / f"{name}.csv") for name, table in tables.items()]
        if self.lesson.is_learnt:
            text = learnt_text(self.lesson.table.keys, self.lesson.draws)
            written.append(write_text(where / self.learnt_file, text))
        else:
            # What an earlier list taught no longer stands beside a page that says nothing is narrowed.
            (where / self.learnt_file).unlink(missing_ok=True)
        page = page_of(self._told, self._inputs_figure(), self._fit_figure())
        written.append(write_page(page.noting(self.foot), where / "learn.html"))
        written.append(write_page(sheet_of(self._told), where / "measure.html"))
        return [*written, self.folder / STORE]

    def _inputs_figure(self) -> Figure | None:
        told, lesson = self._told, self.lesson
        if not lesson.is_learnt:
            return None
        before, after = lesson.before(), lesson.draws
        low, high = lesson.ends
        panels = []
        for key in sorted(lesson.learnt_keys, key=told.share_left)[:MOST_PANELS]:
            at, figure = lesson.table.keys.index(key), assumed_inputs()[key]
            words = INPUT_WORDS[key] + (f" ({figure.unit})" if figure.unit else "")
            panels.append((words, before[:, at], after[:, at], (float(low[at]), float(high[at]))))
        return Figure(inputs_chart(panels), INPUTS_ALT)

    def _fit_figure(self) -> Figure | None:
        lesson = self.lesson
        rows = [
            (
                figure_words(sighting, name),
                float(source.seen[f]),
                lesson.figures[number][:, f],
                self.told[number][:, f] if len(self.told) else None,
            )
            for number, source in enumerate(lesson.sources)
            for f, (sighting, name) in enumerate(source.figures)
        ]
        return Figure(fit_chart(rows), FIT_ALT) if rows else None


def _ends(name: str, values: Any) -> dict[str, float]:
    """Nine of ten of some values."""
    if values is None:
        return {f"{name}_low": float("nan"), f"{name}_high": float("nan")}
    import numpy as np

    low, high = weighted_ends(values, np.full(len(values), 1.0 / len(values)))
    return {f"{name}_low": low, f"{name}_high": high}
