"""Small race days for the tests, and the field run by itself."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from simrun.course.strip import Gate, Side, Strip
from simrun.race.field import stand_m
from simrun.race.run import Race
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.tactics.lines import own_margins

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


def lone_race(scenario: Scenario, **options: Any) -> Race:
    """One even-paced runner of the field's median ability, reacting at once, from the middle."""
    roster = scenario.roster(1).one_runner_as_many(1)
    stand = np.array([[0.0, 0.0]])
    own = own_margins(scenario.strip, roster)
    return Race(scenario, roster, stand, own, **options).run()


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
    )


def _mirrored_gate(gate: Gate) -> Gate:
    return replace(gate, inside=Side(-gate.inside))
