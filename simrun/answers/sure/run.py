"""How sure are three answers, and what do they hang on? Races with inputs drawn, and moved group by group."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, folder_of, run_seeds
from simrun.answers.sure.result import STORE, SureResult
from simrun.answers.sure.three_answers import ANSWERS, Asking, named_day
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_course import ending_by
from simrun.scenario.changes.changes_inputs import (
    with_inputs,
    with_inputs_drawn,
    with_inputs_fixed,
)
from simrun.scenario.scenario import Scenario
from simrun.trials.hanging.radial_design import row_of
from simrun.trials.hanging.total_effects import effects_of
from simrun.trials.how_sure import judge_of
from simrun.trials.workers import executor_for


def answer(asked: Asked, progress: Progress) -> list[SureResult]:
    """What `simrun sure` does."""
    scenario = day_of(asked)
    with executor_for(asked.cluster, asked.workers) as executor:
        ask = {"until_m": asked.until, "units": asked.units, "team": asked.team}
        how = {"workers": asked.workers, "engine": asked.engine, "executor": executor}
        where, seeds = folder_of(asked), run_seeds(asked)
        return [run_sure(scenario, where, seeds, asked.rows, progress, **ask, **how)]


def run_sure(
    scenario: Scenario,
    folder: str | Path,
    seeds: tuple[int, ...] = tuple(range(1, 21)),
    rows: int = 8,
    progress: Progress | None = None,
    *,
    team: str | None = None,
    until_m: float | None = 1000.0,
    units: str | None = None,
    **how: Any,
) -> SureResult:
    """How sure is what our box costs, inside or outside, and going out harder? Kept in sure_races.db.

    The same seeds once with inputs drawn and once fixed at the values of their figures. rows: so often every
    group of inputs is moved by itself; 0: not at all. team: by name, None for ours. until_m: the races end at
    the last mark before this. how: workers or executor, as of `carry_out`. If it is stopped and run again, it
    picks up where it left off. Raises BadInput. Check: tests/journeys/test_sure.py.
    """
    day = scenario if until_m is None else ending_by(scenario, until_m)
    fixed, name = named_day(with_inputs_fixed(day), team)
    drawn = with_inputs_drawn(fixed)
    where = ready_folder(folder)
    asking = Asking(name, where / STORE, how)
    tell = _part(progress, 0, rows)
    both = [asking.of(one, seeds, tell(i, 2)) for i, one in enumerate((drawn, fixed))]
    judged = {
        key: (judge_of(drawn, seeds)(both[0][key]), judge_of(fixed, seeds)(both[1][key]))
        for key in ANSWERS
    }
    tell = _part(progress, 1, rows)
    moved = [_row(fixed, asking, number + 1, tell(number, rows)) for number in range(rows)]
    hangs = {key: effects_of([row[key] for row in moved]) for key in ANSWERS}
    return SureResult(drawn, name, judged, hangs, len(seeds), rows, where, units or day.units)


STUDY_SHARE = 0.3
"""So much of the work is the study with its seeds, where inputs are moved one by one as well."""


def _part(progress: Progress | None, part: int, rows: int) -> Callable[[int, int], Progress]:
    """Progress over the pieces of the study (0), or of the rows (1): which of how many."""
    share = STUDY_SHARE if rows else 1.0
    first, size = ((0.0, share), (share, 1.0 - share))[part]

    def tell(number: int, count: int) -> Progress:
        return lambda done: progress(first + size * (number + done) / count) if progress else None

    return tell


def _row(
    day: Scenario, asking: Asking, number: int, progress: Progress
) -> dict[str, dict[str, float]]:
    """One row of the design: every answer at every point, by its name."""
    row = row_of(day.inputs, number)
    found = {}
    for done, (name, point) in enumerate(row.points.items(), start=1):
        found[name] = asking.of(with_inputs(day, point), (row.seed,), lambda _: None)
        progress(done / len(row.points))
    return {key: {name: float(each[key][0]) for name, each in found.items()} for key in ANSWERS}
