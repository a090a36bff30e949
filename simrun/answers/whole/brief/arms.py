"""What is raced for a brief? The day as told, our team elsewhere, other plans for us, other rivals.

Held fixed in every arm: the people, the ground, everybody's chances. An arm differs from the day as told by
the one thing that its question names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np

from simrun.answers.boxes.ours_elsewhere import is_drawn
from simrun.answers.tactic.orders import PEOPLE_SEED, raced_day, the_team, turns_of
from simrun.engine.entering import goes_out
from simrun.scenario.changes.changes_orders import with_line_at, with_rivals_out
from simrun.scenario.changes.changes_people import (
    with_field_lines,
    with_openings,
    with_ours_again,
)
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema_teams import ToldLine

TOLD, ELSEWHERE = "as told", "another box"
HARDER, CALMER = "harder", "calmer"
SIDES = ("inside", "outside")
RIVALS_HARDER, RIVALS_CALMER = "others harder", "others calmer"
MANY_INSIDE, FEW_INSIDE = "many inside", "few inside"

STEP = 0.05
"""So much of race pace harder or calmer: about two seconds over the first 200 m."""

SHARES = {FEW_INSIDE: 0.3, MANY_INSIDE: 0.9}
"""Which share of the field takes the inside: few of them, and nearly all."""

BOX, PLAN, HANGS = "box", "plan", "hangs on"


@dataclass(frozen=True)
class Question:
    """One arm against another. about: BOX, PLAN or HANGS."""

    about: str
    arm: str
    against: str


def arms_of(scenario: Scenario) -> dict[str, Scenario]:
    """Every arm of a brief by its name, the day as told first; arms that would be the same are left out.

    Raises BadInput without a team of ours. Check: tests/unit/answers/test_brief.py.
    """
    team = the_team(scenario, None).name
    day = raced_day(scenario, team)
    arms = {TOLD: day}
    if is_drawn(day):
        arms[ELSEWHERE] = with_ours_again(day)
    arms |= _plans(day, team) | _rivals(day, team)
    return {name: arm for name, arm in arms.items() if name == TOLD or not _is_same(arm, day)}


def _is_same(arm: Scenario, day: Scenario) -> bool:
    """Does everybody stand, want and run as on this day, though it is written otherwise?"""
    one, other = (each.roster(PEOPLE_SEED) for each in (arm, day))
    return all(
        np.array_equal(getattr(one, column.name), getattr(other, column.name))
        for column in fields(one)
    )


def _plans(day: Scenario, team: str) -> dict[str, Scenario]:
    """A harder opening and a calmer one; at the first turn the sides that we are not told anyhow.

    Harder and calmer than each goes out as told. Who is told nothing is drawn out by the front, and who is
    told something is not: they are told what they do anyhow, and so much more or less.
    """
    out = _goes_out(day, team)
    by = {HARDER: STEP, CALMER: -STEP}
    arms = {
        name: with_openings(day, team, {who: now + step for who, now in out.items()})
        for name, step in by.items()
    }
    for turn in turns_of(day)[:1]:
        now = _told_at(day, turn)
        arms |= {side: with_line_at(day, team, turn, side) for side in SIDES if side != now}
    return arms


def _goes_out(day: Scenario, team: str) -> dict[str, float]:
    """How hard each of ours goes out as told, by name: a share faster than race pace."""
    roster = day.roster(PEOPLE_SEED)
    ours = np.flatnonzero(roster.team == team)
    return {
        roster.name[i]: float(share) for i, share in zip(ours, goes_out(roster)[ours], strict=True)
    }


def _told_at(day: Scenario, turn: str) -> ToldLine | None:
    """Which line is our team told at this turn?"""
    team = the_team(day, None)
    return team.lines.get(turn, team.line)


def _rivals(day: Scenario, team: str) -> dict[str, Scenario]:
    """All others going out harder, or calmer; few of them on the inside of the turns, or nearly all."""
    by = {RIVALS_CALMER: -STEP, RIVALS_HARDER: STEP}
    arms = {name: with_rivals_out(day, team, step) for name, step in by.items()}
    if not turns_of(day):
        return arms
    return arms | {name: with_field_lines(day, _shared(share)) for name, share in SHARES.items()}


def _shared(inside: float) -> dict[str, float]:
    rest = (1 - inside) / 2
    return {"inside": inside, "middle": rest, "outside": rest}


def without_last(arms: Mapping[str, Scenario]) -> dict[str, Scenario]:
    """The arms less the last question that is asked, for who has no time for it; the first two stay."""
    asked = [one.arm for one in questions_of(arms) if one.about != BOX]
    if not asked:
        return dict(arms)
    last = asked[-1]
    gone = {last, *(q.against for q in questions_of(arms) if q.arm == last and q.against != TOLD)}
    return {name: arm for name, arm in arms.items() if name not in gone}


def questions_of(arms: Mapping[str, Scenario]) -> tuple[Question, ...]:
    """Which arm is held against which, in the order in which a coach asks?"""
    asked = (
        Question(BOX, TOLD, ELSEWHERE),
        *(Question(PLAN, name, TOLD) for name in (HARDER, CALMER)),
        *(Question(PLAN, name, TOLD) for name in SIDES),
        Question(HANGS, RIVALS_HARDER, RIVALS_CALMER),
        Question(HANGS, MANY_INSIDE, FEW_INSIDE),
    )
    return tuple(one for one in asked if one.arm in arms and one.against in arms)
