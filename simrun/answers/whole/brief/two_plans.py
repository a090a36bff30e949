"""Two race days that differ in what our team is told: are they of the same people?"""

from __future__ import annotations

import numpy as np

from simrun.answers.tactic.orders import raced_day, the_team
from simrun.answers.whole.brief.arms import PLAN, TOLD, Question
from simrun.base.errors import BadInput, Problem
from simrun.scenario.scenario import Scenario

SECOND = "the second plan"

PEOPLE = ("name", "team", "cruise_m_s", "radius_m", "box")
GROUND = ("left_m", "right_m", "station_m", "height_m")


def two_plans(first: Scenario, second: Scenario) -> dict[str, Scenario]:
    """The first day as told and the second plan, our people by name.

    Raises BadInput without a team of ours, and where people, boxes or ground differ.

    Check: tests/unit/answers/test_brief.py.
    """
    first, second = (raced_day(day, the_team(day, None).name) for day in (first, second))
    rosters = [day.roster(1) for day in (first, second)]
    strips = [day.strip for day in (first, second)]
    allowed = f"as in {first.file or 'the first file'}: two plans are compared with the same people"
    for columns, (one, other) in ((PEOPLE, rosters), (GROUND, strips)):
        for column in columns:
            if not np.array_equal(getattr(one, column), getattr(other, column)):
                found = _found(one, other, column)
                raise BadInput(Problem(WORDS[column], found, allowed, "", second.file))
    return {TOLD: first, SECOND: second}


WORDS = {
    "name": "who runs",
    "team": "teams",
    "cruise_m_s": "times",
    "radius_m": "bodies",
    "box": "boxes",
    "left_m": "course",
    "right_m": "course",
    "station_m": "course",
    "height_m": "course",
}


def _found(one: object, other: object, column: str) -> str:
    """The first who or what is otherwise."""
    if column in GROUND:
        return "another ground"
    ones, others = np.asarray(getattr(one, column)), np.asarray(getattr(other, column))
    if ones.shape != others.shape:
        return f"{len(others)} runners and not {len(ones)}"
    at = int(np.flatnonzero(ones != others)[0])
    name = np.asarray(getattr(other, "name"))[at]  # noqa: B009
    return f"{name}: {others[at]} and not {ones[at]}"


ONE_QUESTION = (Question(PLAN, SECOND, TOLD),)
"""The second plan against the first."""
