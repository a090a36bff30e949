"""Races to learn from: one day, every race at other inputs, watched at every place somebody may stand at.

The same races serve whatever was seen there: who comes back with another count need not run them again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Gate, Side
from simrun.scenario.changes.changes_course import ending_by, with_more_checkpoints
from simrun.scenario.changes.changes_inputs import with_inputs_drawn, without_learnt
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome

Array = NDArray[np.float64]

ARM = "watched at its marks"
START_MAT, START_MAT_M = "start mat", 0.5
"""A mat lies where the first row's feet are: half a metre on everybody has left it."""

SAME_M = 1.0
"""Two marks so near are one."""

APEX = ", apex"


@dataclass(frozen=True)
class Watched:
    """A race day with a mark at every named place. corners: name of the turn by its apex's mark."""

    day: Scenario
    corners: dict[str, Gate]

    @cached_property
    def marks(self) -> tuple[str, ...]:
        """The names of the marks in the order of the columns of an outcome."""
        return tuple(mark.name for mark in self.day.strip.checkpoints)

    @cached_property
    def width_m(self) -> Array:
        """How wide is the course at every mark? (C,)"""
        strip = self.day.strip
        return strip.width_m[strip.checkpoint_cuts()]

    def mark(self, name: str) -> int:
        """Which column is the mark of this name?"""
        return self.marks.index(name)

    def is_left_inside(self, apex: str) -> bool:
        """Is the inside of this corner on the left?"""
        return self.corners[apex].inside == Side.LEFT


def watched_day(scenario: Scenario, until_m: float | None = None) -> Watched:
    """The race day to learn from: inputs drawn from their ranges as told, a mark at every named place.

    until_m: as of `ending_by`; what lies beyond the last mark is not watched.
    Check: tests/unit/trials/test_seen_races.py.
    """
    day = with_inputs_drawn(without_learnt(scenario))
    day = day if until_m is None else ending_by(day, until_m)
    end_m = day.strip.checkpoints[-1].station_m
    corners = {f"{_lap_name(g)}{APEX}": g for g in day.strip.gates if g.kind == "turn"}
    more: list[tuple[str, float]] = []
    for name, at_m in _places(day, corners):
        known = [(mark.name, mark.station_m) for mark in day.strip.checkpoints] + more
        near = name not in corners and any(abs(at_m - at) < SAME_M for _, at in known)
        if at_m < end_m and not near and all(name != other for other, _ in known):
            more.append((name, round(at_m, 2)))
    return Watched(
        with_more_checkpoints(day, more), {n: g for n, g in corners.items() if n in dict(more)}
    )


def _lap_name(gate: Gate) -> str:
    return gate.name if gate.lap == 1 else f"{gate.name}, lap {gate.lap}"


def _places(day: Scenario, corners: dict[str, Gate]) -> Iterator[tuple[str, float]]:
    station = day.strip.station_m
    yield START_MAT, START_MAT_M
    for name, gate in corners.items():
        yield name, float(station[gate.first_cut] + station[gate.last_cut]) / 2
    for gate in day.strip.gates:
        if gate.kind == "throat":
            yield _lap_name(gate), float(station[gate.last_cut])
    for mark in day.strip.landmarks:
        yield mark.name, mark.station_m


@dataclass(frozen=True)
class Table:
    """R races of a watched day. inputs (R, D): where every free input lies in its range, 0 to 1."""

    watched: Watched
    races: tuple[Outcome, ...]
    keys: tuple[str, ...]
    inputs: Array


def seeds_of(races: int) -> tuple[int, ...]:
    """Every second seed, so that no two races meet the same inputs."""
    return tuple(range(1, 2 * races, 2))


def run_table(watched: Watched, races: int, store: Path, **how: Any) -> Table:
    """Run what is missing of so many races and read them. how: as of `carry_out`."""
    plan = Plan({ARM: watched.day}, seeds_of(races), at_marks=True)
    carry_out(plan, store, **how)
    return table_of_plan(watched, plan, store)


def table_of_plan(watched: Watched, plan: Plan, store: Path) -> Table:
    """The races of a plan with the inputs that they met."""
    outcomes = tuple(outcomes_of(plan, ARM, store))
    free = watched.day.inputs.free
    return Table(watched, outcomes, tuple(free), inputs_of(watched.day, sorted(plan.seeds)))


def inputs_of(day: Scenario, seeds: Sequence[int]) -> Array:
    """Where in its range lies every free input of a day with these seeds? (S, D), 0 to 1."""
    free = day.inputs.free
    low, high = np.array([free[key] for key in free]).T
    found = np.array([[day.inputs.of_seed(seed)[key] for key in free] for seed in seeds])
    return np.asarray((found - low) / np.where(high > low, high - low, 1.0))
