"""Who gets to the good side of the first narrowing, and what does crossing cost? The races, the answer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of, run_seeds
from simrun.answers.side.result import STORE, SideResult
from simrun.answers.side.side_arms import arms_of, places_of, team_of, timed
from simrun.answers.side.side_found import SideFound
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.workers import executor_for


def answer(asked: Asked, progress: Progress) -> list[SideResult]:
    """What `simrun side` does."""
    day = day_of(asked)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "progress": progress,
        }
        ask = {"team": asked.team, "good": asked.good, "units": asked.units}
        ask["drawn"] = drawn_of(asked)
        return [run_side(day, folder_of(asked), run_seeds(asked), **ask, **how)]


def run_side(
    scenario: Scenario,
    folder: str | Path,
    seeds: tuple[int, ...] = tuple(range(1, 13)),
    *,
    team: str | None = None,
    good: str | None = None,
    units: str | None = None,
    drawn: bool = True,
    **how: Any,
) -> SideResult:
    """Can we get to the good side from our box, what does it cost, and where is it too late?

    Races end behind the first turn, and are kept in side_races.db in the folder. team: by name, None for
    ours; without a box on paper only the boxes are told. good: left or right, None for the inside of the
    first turn. drawn: inputs that nobody has measured are drawn with the seed. how: workers, executor or
    progress, as of `carry_out`. If it is stopped and run again, it picks up where it left off. Raises
    BadInput where no narrowing comes before the first turn. Check: tests/journeys/test_side.py.
    """
    places = places_of(scenario, good)
    name = team_of(scenario, team)
    where = ready_folder(folder)
    day = with_inputs_as(timed(scenario, places), drawn)
    plan = Plan(arms_of(day, name, places), seeds, at_marks=True)
    store = carry_out(plan, where / STORE, **how)
    outcomes = {arm: tuple(outcomes_of(plan, arm, store)) for arm in plan.arms}
    found = SideFound(day, name, places, outcomes, tuple(sorted(seeds)))
    return SideResult(day, found, where, units or day.units, left_out_in(store, plan))
