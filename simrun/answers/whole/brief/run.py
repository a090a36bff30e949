"""All that a coach asks of a drawn box, in about a minute; or two plans against each other."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, race_folder
from simrun.answers.whole.brief.arms import TOLD, arms_of, questions_of, without_last
from simrun.answers.whole.brief.result import STORE, BriefResult
from simrun.answers.whole.brief.two_plans import ONE_QUESTION, SECOND, two_plans
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.how_sure import FEWEST_POINTS
from simrun.trials.plan import Plan
from simrun.trials.workers import executor_for

RACE_S, RUNNER_S, RUNNER_METRE_S = 0.07, 1.0e-3, 4.5e-6
"""So much processor time does a race take, besides each runner in it, besides each metre of each of them;
alone-runs of our team and the openings' solving among it. It plans how many races a minute holds: every
machine runs the same ones. On the five shipped scenarios, from 0.14 to 5.1 s a race, it is right to 20 %."""

CORES = 2
FEWEST, MOST = 2 * FEWEST_POINTS, 200
"""Seeds: fewer points of the inputs than a study plans with give ranges as wide as a barn door."""


def answer(asked: Asked, progress: Progress) -> list[BriefResult]:
    """What `simrun brief` does."""
    if len(asked.files) > 2:
        found = f"{len(asked.files)} files"
        raise BadInput(Problem("brief", found, "one scenario, or two with the same people"))
    days = [day_of(asked, file) for file in asked.files]
    stem = Path(asked.files[0]).stem
    folder = asked.out or Path("outputs").joinpath(stem, *race_folder(asked.race))
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "units": asked.units,
        }
        ask = {"minutes": asked.minutes, "drawn": drawn_of(asked), "progress": progress}
        other = days[1] if len(days) == 2 else None
        return [run_brief(days[0], folder, other, **ask, **how)]


def run_brief(
    scenario: Scenario,
    folder: str | Path,
    other: Scenario | None = None,
    *,
    minutes: float = 1.0,
    drawn: bool = True,
    units: str | None = None,
    **how: Any,
) -> BriefResult:
    """What does our box cost, what of the plan, where do we finish, and what does that hang on?

    other: the same day with another plan, to be held against the first instead. minutes: about how long the
    races may take on two cores; more of them go on where fewer ended. The races are kept in brief_races.db in
    the folder. drawn: inputs that nobody has measured are drawn with the seed. how: workers, executor or
    progress, as of `carry_out`. Raises BadInput where no team is ours, or the two days are not of the same
    people. Check: tests/journeys/test_brief.py.
    """
    where = ready_folder(folder)
    days = [with_inputs_as(day, drawn) for day in (scenario, other) if day is not None]
    arms = arms_of(days[0]) if other is None else two_plans(*days)
    questions = questions_of(arms) if other is None else ONE_QUESTION
    every = len(questions)
    if other is None:
        arms = affordable(arms, minutes)
        questions = questions_of(arms)
    seeds = seeds_in(arms, minutes)
    day = arms[TOLD]
    plan = Plan(arms, seeds, day.our_team)
    carry_out(plan, where / STORE, **how)
    outcomes = {name: tuple(outcomes_of(plan, name, where / STORE)) for name in arms}
    missing = left_out_in(where / STORE)
    second = arms.get(SECOND)
    return BriefResult(
        day,
        second,
        questions,
        outcomes,
        seeds,
        where,
        units or day.units,
        minutes,
        missing,
        every - len(questions),
    )


def affordable(arms: dict[str, Scenario], minutes: float) -> dict[str, Scenario]:
    """As many of the arms as so many minutes hold with the fewest seeds; never fewer than the box asks for.

    Check: tests/unit/answers/test_brief.py.
    """
    while FEWEST * _each_s(arms) > 60 * CORES * minutes and (fewer := without_last(arms)) != arms:
        arms = fewer
    return arms


def seeds_in(arms: Mapping[str, Scenario], minutes: float) -> tuple[int, ...]:
    """As many seeds as so many minutes hold, every arm with each of them; whole pairs.

    By the metres that runners run, so that it is the same on every machine. Check:
    tests/unit/answers/test_brief.py.
    """
    count = int(60 * CORES * minutes / _each_s(arms))
    return tuple(range(1, min(MOST, max(FEWEST, count - count % 2)) + 1))


def _each_s(arms: Mapping[str, Scenario]) -> float:
    """How long one seed of every arm takes one core."""
    return sum(
        RACE_S + day.runners * (RUNNER_S + RUNNER_METRE_S * day.strip.length_m)
        for day in arms.values()
    )
