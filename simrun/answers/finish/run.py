"""Where may everybody finish, and which team wins? Many races to the finish line, with ranges."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simrun.answers.finish.result import STORE, FinishResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of, run_seeds
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder
from simrun.measure.finish import reaches_finish
from simrun.runners.results import Results
from simrun.scenario.changes.changes_course import to_the_finish
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.named_files import read_results
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.workers import executor_for

ARM = "as told"


def answer(asked: Asked, progress: Progress) -> list[FinishResult]:
    """What `simrun finish` does."""
    scenario = day_of(asked)
    lists = scenario.field.race, scenario.field.plain_times
    results = read_results(asked.results, *lists) if asked.results else None
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "units": asked.units,
        }
        how["drawn"] = drawn_of(asked)
        seeds, folder = run_seeds(asked), folder_of(asked)
        return [run_finish(scenario, folder, seeds, results, progress=progress, **how)]


def run_finish(
    scenario: Scenario,
    folder: str | Path,
    seeds: Sequence[int] = tuple(range(1, 21)),
    results: Results | None = None,
    *,
    units: str | None = None,
    drawn: bool = True,
    **how: Any,
) -> FinishResult:
    """Where do the teams finish? The races are kept in finish_races.db in the folder.

    results: last year's, to be held beside ours. drawn: inputs that nobody has measured are drawn with the
    seed. how: workers, executor or progress, as of `carry_out`. If it is stopped and run again, it picks up
    where it left off. A scenario whose own checkpoints end before the finish is run to it all the same.
    Raises BadInput where there is no checkpoint before the finish.
    Check: tests/journeys/test_finish.py.
    """
    to_its_end = to_the_finish(scenario)
    _check_reaches_finish(to_its_end)
    where = ready_folder(folder)
    day, run = with_inputs_as(to_its_end, drawn), tuple(sorted(seeds))
    plan = Plan({ARM: day}, run, day.our_team or day.teams[0].name)
    store = carry_out(plan, where / STORE, **how)
    outcomes = tuple(outcomes_of(plan, ARM, store))
    missing = left_out_in(store, plan)
    return FinishResult(day, outcomes, where, units or day.units, results, missing, run)


def _check_reaches_finish(scenario: Scenario) -> None:
    strip = scenario.strip
    if not reaches_finish(strip):
        found = f"only {strip.checkpoints[-1].name!r} at {strip.length_m:.0f} m"
        allowed = "one before the finish"
        raise BadInput(Problem("course.checkpoints", found, allowed, "", scenario.file))
