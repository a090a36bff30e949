"""What do we do about our box? How hard each goes out, which line, who stands in the front row."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of
from simrun.answers.tactic.orders import the_team
from simrun.answers.tactic.result import STORE, TacticResult
from simrun.answers.tactic.search.tactic_steps import Budget, find_tactic
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.stopping import doubling
from simrun.trials.workers import executor_for


def answer(asked: Asked, progress: Progress) -> list[TacticResult]:
    """What `simrun tactic` does."""
    scenario = day_of(asked)
    budget = Budget(asked.seeds, doubling(asked.fresh), asked.trials)
    with executor_for(asked.cluster, asked.workers) as executor:
        ask = {"story": asked.story, "units": asked.units, "drawn": drawn_of(asked)}
        how = {"workers": asked.workers, "engine": asked.engine, "executor": executor}
        where = folder_of(asked)
        return [run_tactic(scenario, where, asked.team, budget, progress, **ask, **how)]


def run_tactic(
    scenario: Scenario,
    folder: str | Path,
    team: str | None = None,
    budget: Budget | None = None,
    progress: Progress | None = None,
    *,
    story: bool = False,
    units: str | None = None,
    drawn: bool = True,
    **how: Any,
) -> TacticResult:
    """Which plan suits this team's box? The races are kept in tactic_races.db in the folder.

    All are run to the finish, with everybody racing for places whatever the scenario says, and with the
    others' opening varied. team: by name, None for ours. story: saving also records the usual race of the
    best and of the worst opening and line. units: what the pages speak. drawn: inputs that nobody has
    measured are drawn with the seed. how: workers or executor, as of `carry_out`. If it is stopped and run
    again, it picks up where it left off. Raises BadInput. Check: tests/journeys/test_tactic.py.
    """
    the_team(scenario, team)
    where = ready_folder(folder)
    day = with_inputs_as(scenario, drawn)
    found = find_tactic(day, team, where / STORE, budget, progress, **how)
    missing = left_out_in(where / STORE)
    return TacticResult(found.day, found, where, units or day.units, story, missing)
