"""Learn from what was seen: one table of races, whatever was seen there, and what to measure next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.learn.result import STORE, LearnResult
from simrun.answers.learn.seen_files import count_sources, split_source, start_source
from simrun.answers.options import day_of, folder_of
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_inputs import with_learnt
from simrun.scenario.named_files import file_words, read_results
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.learnt_sample import learnt_text
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.learning import TABLE_RACES
from simrun.trials.learning.learn_inputs import check_library
from simrun.trials.learning.lesson import Lesson, Source, figures_in, lesson_of
from simrun.trials.learning.next_measure import worths
from simrun.trials.learning.seen_races import ARM, Watched, run_table, watched_day
from simrun.trials.plan import Plan
from simrun.trials.workers import executor_for

CHECKED_WITH = 40
"""So many races at draws of what was learnt show whether it gives what was seen."""

TABLE_SHARE = 0.85


@dataclass(frozen=True)
class Lists:
    """The files of what was seen, by their paths; None where there is none."""

    results: str | None = None
    counts: str | None = None
    starts: str | None = None

    def sources(self, watched: Watched) -> list[Source]:
        """Everything that stands in them. Raises BadInput."""
        found: list[Source] = []
        if self.results:
            field = watched.day.field
            results = read_results(self.results, field.race, field.plain_times)
            found.append(split_source(watched, results, file_words(Path(self.results))))
        found += count_sources(watched, self.counts) if self.counts else []
        found += [start_source(self.starts)] if self.starts else []
        return found


def answer(asked: Asked, progress: Progress) -> list[LearnResult]:
    """What `simrun learn` does."""
    scenario = day_of(asked)
    lists = Lists(asked.results, asked.counts, asked.starts)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {"workers": asked.workers, "engine": asked.engine, "executor": executor}
        ask = {"until_m": asked.until, "units": asked.units}
        return [run_learn(scenario, folder_of(asked), lists, asked.races, progress, **ask, **how)]


def run_learn(
    scenario: Scenario,
    folder: str | Path,
    lists: Lists,
    races: int = TABLE_RACES,
    progress: Progress | None = None,
    *,
    until_m: float | None = 1000.0,
    units: str | None = None,
    **how: Any,
) -> LearnResult:
    """What do these lists say of the inputs of this race day? Races are kept in learn_races.db.

    Learnt is from the ranges as declared or written, whatever was learnt before. until_m: the races end at
    the last mark before this. how: workers or executor, as of `carry_out`. Raises BadInput. Check:
    tests/journeys/test_learn.py.
    """
    check_library()
    watched = watched_day(scenario, until_m)
    sources = lists.sources(watched)
    store = ready_folder(folder) / STORE
    part = _part(progress, 0.0, TABLE_SHARE)
    table = run_table(watched, races, store, progress=part, **how)
    lesson = lesson_of(table, sources)
    file = f"{Path(scenario.file).stem}_learnt.csv"
    told: Sequence[Any] = ()
    if lesson.is_learnt:
        day = with_learnt(watched.day, file, learnt_text(table.keys, lesson.draws))
        last = _part(progress, TABLE_SHARE, 1.0)
        told = _told_by(day, lesson, store, progress=last, **how)
    used = [lesson.figures[i] for i in lesson.used]
    next_ones = worths(table, sources, used)
    if progress:
        progress(1.0)
    where = Path(folder)
    return LearnResult(scenario, lesson, told, next_ones, file, where, units or scenario.units)


def _told_by(day: Scenario, lesson: Lesson, store: Path, **how: Any) -> list[Any]:
    """The figures of every source in races at draws of what was learnt, with other people: (R, F) each."""
    plan = Plan({ARM: day}, tuple(range(2, 2 * CHECKED_WITH + 2, 2)), at_marks=True)
    carry_out(plan, store, **how)
    found = tuple(outcomes_of(plan, ARM, store))
    return figures_in(lesson.table, found, lesson.sources, len(lesson.table.races))


def _part(progress: Progress | None, begin: float, end: float) -> Progress:
    return lambda done: progress(begin + (end - begin) * done) if progress else None
