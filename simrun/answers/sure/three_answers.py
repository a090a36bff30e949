"""Three answers out of five races: what our box costs, inside or outside, going out harder. Seconds lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.scenario.changes.changes_people import (
    team_named,
    with_orders,
    with_ours_again,
    with_people_named,
)
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import Progress, carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

BOX, LINE, OPENING = "box", "line", "opening"
ANSWERS = (BOX, LINE, OPENING)

USUAL, HARD = 0.06, 0.18
"""Shares faster than race pace that the third answer is about."""

PAPER, ELSEWHERE = "as on paper", "in another box"
PEOPLE_SEED = 1


def named_day(scenario: Scenario, team: str | None) -> tuple[Scenario, str]:
    """The race day with everybody of the team by name, and the team. Raises BadInput."""
    name = scenario.our_team if team is None else team
    names = [one.name for one in scenario.teams]
    if name not in names:
        allowed = (
            "one team marked ours = true, or --team" if name is None else "a team of this race"
        )
        near = nearest_word(name or "", names)
        raise BadInput(Problem("team", repr(name), allowed, near, scenario.file))
    return with_people_named(scenario, name, PEOPLE_SEED), name


def box_arms(day: Scenario, team: str) -> dict[str, Scenario]:
    """The same day, and with the team in another box with every seed; the first alone where it has no box."""
    boxed = team_named(day, team).box is not None and len(day.start.open_boxes) > 1
    return {PAPER: day, **({ELSEWHERE: with_ours_again(day, team)} if boxed else {})}


def arms_of(day: Scenario, team: str) -> dict[str, Scenario]:
    """The same day with our team told inside, outside, and inside going out harder."""
    turns = list(dict.fromkeys(g.name for g in day.strip.gates if g.kind == "turn"))
    people = [person.name for person in team_named(day, team).people]

    def told(opening: float, word: str) -> Scenario:
        lines = dict.fromkeys(turns, word)
        return with_orders(day, team, dict.fromkeys(people, opening), lines)

    arms = {"inside": told(USUAL, "inside"), "harder": told(HARD, "inside")}
    return {**arms, **({"outside": told(USUAL, "outside")} if turns else {})}


@dataclass(frozen=True)
class Asking:
    """One team, and where its races are kept. how: workers or executor, as of `carry_out`."""

    team: str
    store: Path
    how: Mapping[str, Any]

    def of(self, day: Scenario, seeds: tuple[int, ...], progress: Progress) -> dict[str, Array]:
        """The three answers with every seed, (S,) each: seconds at the last mark; nan where there is none."""
        base = Plan(box_arms(day, self.team), seeds, self.team)
        told = Plan(arms_of(day, self.team), seeds, self.team)
        for number, plan in enumerate((base, told)):
            carry_out(plan, self.store, **self.how, progress=_half(progress, number))
        index = [team.name for team in day.teams].index(self.team)
        lost = {
            arm: np.array([_ours_s(o, index) for o in outcomes_of(plan, arm, self.store)])
            for plan in (base, told)
            for arm in plan.arms
        }
        nothing = np.full(len(seeds), np.nan)
        found = {BOX: lost[PAPER] - lost[ELSEWHERE] if ELSEWHERE in lost else nothing}
        found[LINE] = lost["inside"] - lost["outside"] if "outside" in lost else nothing
        found[OPENING] = lost["harder"] - lost["inside"]
        return found


def _half(progress: Progress, number: int) -> Progress:
    return lambda share: progress((number + share) / 2)


def _ours_s(outcome: Outcome, index: int) -> float:
    """What our runners lose, on average; nan where nobody arrived."""
    return _mean((outcome.crossing_s - outcome.best_s)[outcome.team_index == index, -1])


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if np.isfinite(values).any() else float("nan")
