"""Small race days for the tests, and the field run by itself."""

from __future__ import annotations

from dataclasses import fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Gate, Side, Strip
from simrun.engine.field import stand_m
from simrun.engine.run import Race
from simrun.runners.roster import Roster
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.tactics.margins import own_margins

Array = NDArray[np.float64]

SHARP_TURN = """
name = "Sharp turn"
[clock]
limit = "6 min"
[start]
width = 60
boxes = 24
box_width = 2.5
front_row = 3
[course]
[[course.pieces]]
piece = "straight"
name = "meadow"
length = 150
width = 60
[[course.pieces]]
piece = "narrowing"
name = "funnel"
length = 60
width = 12
[[course.pieces]]
piece = "straight"
name = "lane"
length = 100
[[course.pieces]]
piece = "turn"
name = "barn corner"
side = "left"
angle = 90
left = "barrier"
[[course.pieces]]
piece = "straight"
name = "long lane"
length = 300
[[course.checkpoints]]
name = "throat"
at = 210
[[course.checkpoints]]
name = "after the turn"
at = 361
[field]
opening = 0.1
lines = { inside = 0.7, middle = 0.15, outside = 0.15 }
fill = true
[[teams]]
name = "Alderbrook"
box = 12
ours = true
"""


TWO_ON_A_FIELD = """
name = "Two on a field"
[clock]
limit = "10 min"
[start]
width = 60
boxes = 2
box_width = 30
front_row = 1
[course]
[[course.pieces]]
piece = "straight"
name = "field"
length = 1500
width = 60
[field]
racing = "on"
runners = 1
opening = 0.1
[[teams]]
name = "Alderbrook"
box = 1
ours = true
[[teams.people]]
name = "Aro Fen"
time = "17:00"
[[teams]]
name = "Birchmoor"
box = 2
[[teams.people]]
name = "Bel Holt"
time = "18:00"
"""
"""Two runners far apart, a minute between their seed times, racing for places."""

CRUSH = """
name = "Crush"
[clock]
limit = "2 min"
[start]
width = 60
boxes = 24
box_width = 2.5
front_row = 3
[course]
[[course.pieces]]
piece = "straight"
length = 30
width = 60
left = "barrier"
right = "barrier"
[[course.pieces]]
piece = "narrowing"
length = 15
width = 3
left = "barrier"
right = "barrier"
[[course.pieces]]
piece = "straight"
length = 100
[[course.checkpoints]]
name = "throat"
at = 45
[field]
opening = 0.1
fill = true
[[teams]]
name = "Alderbrook"
box = 12
"""
"""A throat far too narrow and far too near: many bodies touch at once, and walls are run into."""

LANE = """
name = "Lane"
[clock]
limit = "5 min"
[start]
width = 0.9
boxes = 1
box_width = 0.9
front_row = 1
[course]
[[course.pieces]]
piece = "straight"
length = 600
width = 0.9
surface = "road"
left = "barrier"
right = "barrier"
[[course.checkpoints]]
name = "far on"
at = 500
[field]
ability = "even"
time = "16:40"
fill = true
[[teams]]
name = "One"
box = 1
"""
"""A lane too narrow for two: whoever is behind stays behind."""


def scenario_of(text: str, folder: Any) -> Scenario:
    """A scenario read from its text."""
    file = folder / "day.toml"
    file.write_text(text, encoding="utf-8")
    return read(file)


def field_race(scenario: Scenario, seed: int, **options: Any) -> Race:
    """The field of this seed, run to its end, without the alone-runs."""
    roster = scenario.roster(seed)
    stand = stand_m(scenario.start_line, roster)
    own = own_margins(scenario.strip, roster)
    return Race(scenario, roster, stand, own, **options).run()


def lone_race(scenario: Scenario, step_s: float | None = None, **options: Any) -> Race:
    """One even-paced runner of the field's median ability, reacting at once, from the middle.

    step_s: another step than the scenario's, also one that no scenario may ask for.
    """
    roster = scenario.roster(1).one_runner_as_many(1)
    clock = scenario.clock.model_copy(update={"step_s": step_s} if step_s else {})
    day = SimpleNamespace(strip=scenario.strip, clock=clock, start_line=scenario.start_line)
    stand, own = np.array([[0.0, 0.0]]), own_margins(scenario.strip, roster)
    return Race(day, roster, stand, own, **options).run()  # type: ignore[arg-type]


def file_race(scenario: Scenario, cruise_m_s: Array, apart_m: float, **options: Any) -> Race:
    """Runners alike but for their pace, one behind the other, the first on the line; not yet run."""
    count = len(cruise_m_s)
    alike = replace(scenario.roster(1).one_runner_as_many(count), cruise_m_s=cruise_m_s)
    stand = np.stack([-apart_m * np.arange(count), np.zeros(count)], axis=1)
    gun = replace(scenario.start_line, gun_m=np.zeros(2))
    day = SimpleNamespace(strip=scenario.strip, clock=scenario.clock, start_line=gun)
    return Race(day, alike, stand, own_margins(scenario.strip, alike), **options)  # type: ignore[arg-type]


def mirrored(strip: Strip) -> Strip:
    """The same course seen in a mirror: left is right, y is turned round."""
    turn = np.array([1.0, -1.0])
    return replace(
        strip,
        left_m=strip.right_m * turn,
        right_m=strip.left_m * turn,
        left_edge=strip.right_edge,
        right_edge=strip.left_edge,
        bend_side=-strip.bend_side,
        gates=tuple(_mirrored_gate(gate) for gate in strip.gates),
        obstacles_m=strip.obstacles_m * np.array([1.0, -1.0, 1.0]),
        obstacles=tuple(
            replace(
                thing,
                hull_m=thing.hull_m * turn,
                open_left=thing.open_right,
                open_right=thing.open_left,
            )
            for thing in strip.obstacles
        ),
    )


def _mirrored_gate(gate: Gate) -> Gate:
    return replace(gate, inside=Side(-gate.inside))


def glass_of(scenario: Scenario) -> Any:
    """As much of the mirrored race day as a race needs."""
    line = scenario.start_line
    return SimpleNamespace(
        strip=mirrored(scenario.strip),
        clock=scenario.clock,
        start_line=replace(line, gun_m=line.gun_m * np.array([1.0, -1.0])),
        our_team=scenario.our_team,
    )


def rows_of(roster: Roster, order: np.ndarray) -> Roster:
    """The same roster with its runners in another order."""
    changed = {}
    for column in fields(Roster):
        values = getattr(roster, column.name)
        if column.name == "team_names":
            continue
        picked = tuple(values[i] for i in order) if isinstance(values, tuple) else values[order]
        changed[column.name] = picked
    return replace(roster, **changed)
