"""What can a coach tell a team? How hard to open, a line at each turn, who stands in front, where to go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.units import length_text
from simrun.measure.stretches import Stretch, stretches
from simrun.pages.numbers import the_mark
from simrun.scenario.changes.changes_course import to_the_finish, with_more_checkpoints
from simrun.scenario.changes.changes_orders import with_stages
from simrun.scenario.changes.changes_people import with_orders, with_people_named, with_racing
from simrun.scenario.scenario import Scenario
from simrun.scenario.teams import Team

OPENINGS = (0.0, 0.06, 0.12, 0.18, 0.24, 0.30)
"""Splits that are tried, as shares faster than race pace, gun to the stake where the opening ends."""

MORE_OPENINGS = (0.36, 0.40)
"""What is tried besides where the best of those is the hardest: the last is the hardest that can be told."""

RIVALS = (0.0, 0.05, -0.05)
"""By so much of race pace harder everybody else goes out: as on paper, harder, calmer, two seeds of each in
turn. The size is the range of a usual start (`racing.opening_usual`, 0.05 to 0.15 about 0.10)."""

SIT_WIDTH_M = 4.0
"""On a stretch no wider than this a runner may be told to sit."""

MOST_GO = 3
"""So many landmarks are tried to go at."""

LATEST_GO, FIRST_GO = 0.95, 0.4
"""They lie between these shares of the course."""

SAME_M = 1.0
"""A mark so near to another is that one."""

PEOPLE_SEED = 1
"""A team whose people nobody named runs with those of this seed, the same in every race."""


@dataclass(frozen=True)
class Stages:
    """Where a team sits and goes: names of a stretch and of a landmark, and metres; empty: nowhere."""

    sit: str = ""
    sit_m: float = 0.0
    go: str = ""
    go_m: float = 0.0

    @property
    def told(self) -> dict[str, float]:
        """The stages as a plan has them."""
        sit = {"sit": self.sit_m} if self.sit else {}
        return sit | ({"move": self.go_m} if self.go else {})


@dataclass(frozen=True)
class Order:
    """What a team is told. opening: share faster than race pace, for all or by runner's name. lines: a word
    by turn's name. front: who stands in the front row, from left to right; empty: as listed.
    """

    opening: float | Mapping[str, float]
    lines: Mapping[str, str] = field(default_factory=dict)
    front: tuple[str, ...] = ()
    stages: Stages = Stages()

    def opening_of(self, runner: str) -> float:
        """How much faster than race pace is this runner told to go out?"""
        return (
            self.opening if isinstance(self.opening, int | float) else float(self.opening[runner])
        )


def the_team(scenario: Scenario, name: str | None) -> Team:
    """The team of this name; None: ours. Raises BadInput with the nearest name."""
    wanted = scenario.our_team if name is None else name
    names = [team.name for team in scenario.teams]
    if wanted is None:
        allowed = "one team marked ours = true, or the team's name"
        raise BadInput(Problem("teams.ours", "no team", allowed, "", scenario.file))
    if wanted not in names:
        allowed = "one of " + ", ".join(names[:40])
        near = nearest_word(wanted, names)
        raise BadInput(Problem("team", repr(wanted), allowed, near, scenario.file))
    return scenario.teams[names.index(wanted)]


def with_our_people(scenario: Scenario, team: str) -> Scenario:
    """The scenario with everybody of this team by name and 5 km time, as told where they were told.

    So the same seven run in every race, and one runner's answer can be followed through all of them.
    Who is not named on paper is the one drawn with `PEOPLE_SEED`.
    """
    return with_people_named(scenario, team, PEOPLE_SEED)


def told(scenario: Scenario, team: str, order: Order) -> Scenario:
    """The scenario with this team, its people named, told this and nothing else."""
    openings = {p.name: order.opening_of(p.name) for p in the_team(scenario, team).people}
    day = with_orders(scenario, team, openings, order.lines, order.front)
    return with_stages(day, team, order.stages.told)


def raced_day(scenario: Scenario, team: str) -> Scenario:
    """The day on which plans are compared: our people by name, everybody racing for places, to the finish.

    A plan pays for what it borrows only where everybody races.
    """
    return with_racing(to_the_finish(with_our_people(scenario, team)))


def race_day(scenario: Scenario, team: str) -> Scenario:
    """A `raced_day` as a plan is searched on it.

    It is timed where the opening ends too (`stake_of`). Check: tests/unit/answers/test_tactic.py.
    """
    day = raced_day(scenario, team)
    at_m = _opening_ends_m(day, team)
    marks = day.strip.checkpoints
    if at_m < 1.0 or any(abs(mark.station_m - at_m) < SAME_M for mark in marks):
        return day
    return with_more_checkpoints(day, [(f"{length_text(at_m, day.units)} stake", at_m)])


def stake_of(day: Scenario, team: str) -> int:
    """Which checkpoint of a `race_day` is the one where the opening ends?"""
    at_m = _opening_ends_m(day, team)
    away = [abs(mark.station_m - at_m) for mark in day.strip.checkpoints]
    return away.index(min(away))


def _opening_ends_m(day: Scenario, team: str) -> float:
    plan = the_team(day, team).plan or day.field.plan
    ends_m = day.field.opening_for_m if plan.settle_m is None else plan.settle_m
    return min(ends_m, day.strip.length_m)


def gate_of(day: Scenario) -> int:
    """At which checkpoint is the start over? The first from the first narrowing or turn on, else the last."""
    strip = day.strip
    begins_m = strip.station_m[strip.gates[0].first_cut] if strip.gates else 0.0
    marks = [mark.station_m >= begins_m - SAME_M for mark in strip.checkpoints]
    return marks.index(True) if True in marks else len(marks) - 1


def stages_of(day: Scenario, team: str) -> dict[str, Stages]:
    """Where could the team sit and go? {words: stages}, at an even pace first.

    Go at a landmark of the second part of the course; or sit on the longest narrow stretch, and go at the
    first landmark behind it, else at its end.
    """
    length = day.strip.length_m
    settled = _opening_ends_m(day, team) + day.field.settle_over_m
    early, late = max(settled, FIRST_GO * length), LATEST_GO * length
    marks = [m for m in day.strip.landmarks if early <= m.station_m <= late]
    step = max(1, -(-len(marks) // MOST_GO))
    found = [Stages(go=m.name, go_m=m.station_m) for m in marks[::step][:MOST_GO]]
    narrow = [s for s in stretches(day.strip) if _is_narrow(day, s) and settled <= s.from_m]
    # The longest, and of two laps over it the last.
    order = sorted(narrow, key=lambda one: (round(one.length_m), one.from_m))
    for sit in [one for one in order if one.to_m <= late][-1:]:
        behind = next((m for m in day.strip.landmarks if sit.to_m <= m.station_m <= late), None)
        name = sit.name.split(", ")[-1]
        end = (f"the end of {the_mark(name)}", sit.to_m)
        go, at_m = (behind.name, behind.station_m) if behind else end
        found.append(Stages(name, sit.from_m, go, at_m))
    return {EVEN_PACE: Stages()} | {_stage_words(one): one for one in found}


def _is_narrow(day: Scenario, stretch: Stretch) -> bool:
    """Is it narrow in its middle? Its ends may lie in a gap or a taper."""
    middle_m = (stretch.from_m + stretch.to_m) / 2
    width_m = float(np.interp(middle_m, day.strip.station_m, day.strip.width_m))
    return width_m <= SIT_WIDTH_M


EVEN_PACE = "an even pace"


def _stage_words(stages: Stages) -> str:
    sit = f"sitting on {the_mark(stages.sit)}, " if stages.sit else ""
    return f"{sit}going at {the_mark(stages.go)}"


def turns_of(scenario: Scenario) -> list[str]:
    """The named turns before the last checkpoint, in the order in which they come."""
    strip = scenario.strip
    last = strip.checkpoints[-1].station_m
    names = [
        gate.name
        for gate in strip.gates
        if gate.kind == "turn" and strip.station_m[gate.first_cut] < last
    ]
    return list(dict.fromkeys(names))


def fronts_of(scenario: Scenario, team: str) -> dict[str, tuple[str, ...]]:
    """Who could stand in the front row? {words: names}; one entry where all fit into it.

    Every row of neighbours by 5 km time: the fastest, the next, ... the slowest.
    """
    people = the_team(scenario, team).people
    abreast, count = scenario.start.front_row, len(people)
    names = [p.name for p in sorted(people, key=lambda p: p.time_s or 0.0)]
    if count <= abreast:
        return {"all in the front row": ()}
    step = max(1, (count - abreast) // 2)
    firsts = sorted({0, min(step, count - abreast), count - abreast})
    return {
        _words(first, abreast, count): tuple(names[first : first + abreast]) for first in firsts
    }


def _words(first: int, abreast: int, count: int) -> str:
    if first == 0:
        return f"our {abreast} fastest in front" if abreast > 1 else "our fastest in front"
    if first == count - abreast:
        return f"our {abreast} slowest in front" if abreast > 1 else "our slowest in front"
    return (
        f"our {first + 1} to {first + abreast} in front"
        if abreast > 1
        else f"our {first + 1} in front"
    )
