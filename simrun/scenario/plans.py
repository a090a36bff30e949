"""Where does everybody open, settle, sit, move and kick? The pacing plan by section."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import Problem
from simrun.scenario.day import Day
from simrun.scenario.tables.schema_teams import FieldTable, PlanTable, TeamTable
from simrun.scenario.teams import Person
from simrun.sources import figure

Array = NDArray[np.float64]

STAGES = ("settle", "sit", "move", "kick")
"""In the order in which they are run; everybody opens at the gun."""


def plans_of(
    scenario: Day, team_index: NDArray[np.int64], people: Sequence[Person | None]
) -> dict[str, Array]:
    """The columns of the roster that say where each stage begins: (N,) each, inf where it never does.

    A person's plan stands for the team's, a team's for the field's, each as a whole.
    """
    field, told = scenario.field, _told_plans(scenario, team_index, people)
    columns = {f"{stage}_m": _begins_m(told, stage, np.inf) for stage in STAGES[1:]}
    columns["opening_m"] = _begins_m(told, "settle", field.opening_for_m)
    columns["settle_m"] = np.full(len(told), field.settle_over_m)
    return columns


def _begins_m(told: Sequence[PlanTable], stage: str, otherwise: float) -> Array:
    written = [getattr(plan, f"{stage}_m") for plan in told]
    return np.array([otherwise if at is None else at for at in written], dtype=np.float64)


def openings_of(scenario: Day, team_index: NDArray[np.int64], deviation: Array) -> Array:
    """Everybody's opening by the field's number or the word for the start, (N,), before anybody is told."""
    field = scenario.field
    if field.racing == "off":
        return np.asarray(field.opening + field.opening_spread * deviation)
    size = _by_word(scenario, team_index, "racing.opening_{}")
    spread = _by_word(scenario, team_index, "racing.opening_spread_{}")
    if field.told_opening is not None:
        plain = np.array([scenario.teams[team].start is None for team in team_index])
        size = np.where(plain, field.opening, size)
        spread = np.where(plain, field.opening_spread, spread)
    return np.asarray(size + spread * deviation)


def usual_opening(scenario: Day) -> float:
    """The middle of the field's openings, of who is told nothing and starts by no word of their own."""
    field = scenario.field
    if field.racing == "off" or field.told_opening is not None:
        return field.opening
    return figure(f"racing.opening_{field.start}").value


def racing_of(
    scenario: Day,
    team_index: NDArray[np.int64],
    people: Sequence[Person | None],
    cruise_m_s: Array,
    rng: np.random.Generator,
) -> dict[str, Array]:
    """The columns of the roster that only a race for places has; none where racing is off.

    Who was told an opening runs it and is not drawn out by the front. Who was told no places wants the one
    that their own seed time says. What is kept in hand is drawn about that of the word for the start.
    """
    if scenario.field.racing == "off":
        return {}
    field, teams, count = scenario.field, scenario.teams, len(people)
    told = _told_plans(scenario, team_index, people)
    ordered = [
        teams[team].opening is not None or (person is not None and person.opening is not None)
        for team, person in zip(team_index, people, strict=True)
    ]
    hand = _by_word(scenario, team_index, "racing.in_hand_{}_m")
    hand += figure("racing.in_hand_spread_m").value * rng.standard_normal(count)
    faster = (cruise_m_s[None, :] > cruise_m_s[:, None]).sum(axis=1)
    settled = _begins_m(told, "settle", field.opening_for_m) + field.settle_over_m
    from_m = figure("racing.seek_told_from_m").value
    return {
        "drawn": np.where(ordered, 0.0, _by_word(scenario, team_index, "racing.drawn_{}")),
        "in_hand_m": _written(told, "in_hand_m", hand),
        "first_place": np.array([p.places[0] if p.places else 1.0 for p in told], dtype=float),
        "last_place": np.array(
            [p.places[1] if p.places else 1.0 + own for p, own in zip(told, faster, strict=True)],
            dtype=float,
        ),
        "seek_m": np.where([bool(p.places) for p in told], from_m, settled),
    }


def _by_word(scenario: Day, team_index: NDArray[np.int64], key: str) -> Array:
    """The figure of everybody's word for the start: the team's, else the field's. (N,)"""
    words = [team.start or scenario.field.start for team in scenario.teams]
    return np.array([figure(key.format(word)).value for word in words])[team_index]


def _told_plans(
    scenario: Day, team_index: NDArray[np.int64], people: Sequence[Person | None]
) -> list[PlanTable]:
    """Everybody's plan: a person's stands for the team's, a team's for the field's, each as a whole."""
    return [
        (person and person.plan) or scenario.teams[team].plan or scenario.field.plan
        for team, person in zip(team_index, people, strict=True)
    ]


def _written(told: Sequence[PlanTable], key: str, otherwise: Array) -> Array:
    """What the plans say, else the drawn value: (N,)."""
    said = [getattr(plan, key) for plan in told]
    return np.array(
        [other if own is None else own for own, other in zip(said, otherwise, strict=True)],
        dtype=np.float64,
    )


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
