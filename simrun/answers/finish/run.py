"""Where may everybody finish, and which team wins? Many races to the finish line, with ranges."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simrun.answers.finish.result import STORE, FinishResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import drawn_of, folder_of, run_seeds
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder
from simrun.measure.finish import reaches_finish
from simrun.runners.results import Results
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.named_files import read_results
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.workers import executor_for

ARM = "as told"


def answer(asked: Asked, progress: Progress) -> list[FinishResult]:
    """What `simrun finish` does."""
    scenario = read(asked.file)
    results = read_results(asked.results, scenario.field.race) if asked.results else None
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {"workers": asked.workers, "executor": executor, "units": asked.units}
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
    where it left off. Raises BadInput where the scenario's last checkpoint is not the finish.
    Check: tests/journeys/test_finish.py.
    """
    _check_reaches_finish(scenario)
    where = ready_folder(folder)
    day, run = with_inputs_as(scenario, drawn), tuple(sorted(seeds))
    plan = Plan({ARM: day}, run, day.our_team or day.teams[0].name)
    store = carry_out(plan, where / STORE, **how)
    outcomes = tuple(outcomes_of(plan, ARM, store))
    missing = left_out_in(store, plan)
    return FinishResult(day, outcomes, where, units or day.units, results, missing, run)


def _check_reaches_finish(scenario: Scenario) -> None:
    strip = scenario.strip
    if not reaches_finish(strip):
        last = strip.checkpoints[-1]
        found = f"the last is {last.name!r} at {last.station_m:.0f} m"
        allowed = f"one at the finish, {strip.length_m:.1f} m, and one before it"
        raise BadInput(Problem("course.checkpoints", found, allowed, "", scenario.file))
