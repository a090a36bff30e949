"""Where does everybody open, settle, sit, move and kick? The pacing plan by section."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import Problem
from simrun.scenario.tables.schema_teams import FieldTable, PlanTable, TeamTable
from simrun.scenario.teams import Person

if TYPE_CHECKING:
    from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]

STAGES = ("settle", "sit", "move", "kick")
"""In the order in which they are run; everybody opens at the gun."""


def plans_of(
    scenario: Scenario, team_index: NDArray[np.int64], people: Sequence[Person | None]
) -> dict[str, Array]:
    """The columns of the roster that say where each stage begins: (N,) each, inf where it never does.

    A person's plan stands for the team's, a team's for the field's, each as a whole.
    """
    field, teams = scenario.field, scenario.teams
    told = [
        (person and person.plan) or teams[team].plan or field.plan
        for team, person in zip(team_index, people, strict=True)
    ]
    columns = {f"{stage}_m": _begins_m(told, stage, np.inf) for stage in STAGES[1:]}
    columns["opening_m"] = _begins_m(told, "settle", field.opening_for_m)
    columns["settle_m"] = np.full(len(told), field.settle_over_m)
    return columns


def _begins_m(told: Sequence[PlanTable], stage: str, otherwise: float) -> Array:
    written = [getattr(plan, f"{stage}_m") for plan in told]
    return np.array([otherwise if at is None else at for at in written], dtype=np.float64)


def plan_problems(
    field: FieldTable, teams: Sequence[tuple[str, TeamTable]], length_m: float
) -> Iterator[Problem]:
    """Every plan's stages come one after the other, and before the finish."""
    yield from _one_plan("field.plan", field.plan, length_m)
    for key, team in teams:
        yield from _one_plan(f"{key}.plan", team.plan, length_m)
        for person in team.people:
            yield from _one_plan(f"{key}.people.{person.name}.plan", person.plan, length_m)


def _one_plan(key: str, plan: PlanTable | None, length_m: float) -> Iterator[Problem]:
    before, behind_m = "", 0.0
    for stage in STAGES if plan else ():
        at_m = getattr(plan, f"{stage}_m")
        if at_m is None:
            continue
        if at_m >= length_m:
            allowed = f"before the finish, at {length_m:.0f} m"
            yield Problem(f"{key}.{stage}", f"{at_m:g} m", allowed)
        if before and at_m <= behind_m:
            allowed = f"after {before}, at {behind_m:g} m: " + ", ".join(STAGES) + " in this order"
            yield Problem(f"{key}.{stage}", f"{at_m:g} m", allowed)
        before, behind_m = stage, at_m
