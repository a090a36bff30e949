"""Of seconds lost at the start, how many are run back? Delays, ways and metres in hand, over many races."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simrun.answers.chase.result import STORE, ChaseResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of, run_seeds
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_course import with_time_limit
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import carry_out
from simrun.trials.run_back import kick_table, lost_table, run_back_plan, timed
from simrun.trials.workers import executor_for

DELAYS_S = (5.0, 10.0, 20.0)
IN_HAND_M = (20.0, 40.0)
LATEST_S = 300.0


def answer(asked: Asked, progress: Progress) -> list[ChaseResult]:
    """What `simrun chase` does."""
    day = day_of(asked)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "progress": progress,
        }
        how |= {"units": asked.units, "drawn": drawn_of(asked)}
        told = (asked.lost or DELAYS_S, asked.in_hand or IN_HAND_M)
        return [run_chase(day, folder_of(asked), run_seeds(asked), *told, **how)]


def run_chase(
    scenario: Scenario,
    folder: str | Path,
    seeds: tuple[int, ...] = tuple(range(1, 11)),
    delays_s: Sequence[float] = DELAYS_S,
    in_hand_m: Sequence[float] = IN_HAND_M,
    *,
    units: str | None = None,
    drawn: bool = True,
    **how: Any,
) -> ChaseResult:
    """How much of a delay at the gun does our team run back? The races are kept in chase_races.db.

    Everybody races for places whatever the scenario says. drawn: inputs that nobody has measured are drawn
    with the seed. how: workers, executor or progress, as of `carry_out`. If it is stopped and run again, it
    picks up where it left off. Raises BadInput without a team of ours. Check: tests/journeys/test_chase.py.
    """
    day = with_inputs_as(scenario, drawn)
    team, delays = _team_of(day), _delays(delays_s)
    hands = tuple(dict.fromkeys(in_hand_m))
    there, marks = timed(with_time_limit(day, day.clock.limit_s + delays[-1]))
    plan = run_back_plan(there, team, delays, hands, seeds)
    where = ready_folder(folder)
    store = carry_out(plan, where / STORE, **how)
    lost = lost_table(plan, store, marks, delays, hands)
    kick = kick_table(plan, store, marks, hands)
    missing = left_out_in(store, plan)
    return ChaseResult(day, marks, lost, kick, where, units or day.units, missing)


def _team_of(day: Scenario) -> str:
    if day.our_team is None:
        allowed = "one team marked ours = true: it is the one that is late"
        raise BadInput(Problem("teams.ours", "no team", allowed, "", day.file))
    return day.our_team


def _delays(delays_s: Sequence[float]) -> tuple[float, ...]:
    """Every delay once, the shortest first. Raises BadInput."""
    for delay in delays_s:
        if not 0.0 <= delay <= LATEST_S:
            allowed = f"from 0 to {LATEST_S:.0f} s"
            raise BadInput(Problem("--lost", f"{delay:g} s", allowed))
    return tuple(sorted(set(delays_s)))
