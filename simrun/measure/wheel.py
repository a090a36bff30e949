"""What does the drawn course measure? Lengths of the lines, extra metres of every box, widths, distances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.route import line_through, shortest_line
from simrun.course.start import bow_m, paint_m
from simrun.course.strip import Gate, Strip
from simrun.runners.line_choice import CHOICES, inside_offset_m
from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]


@dataclass(frozen=True)
class BoxMetres:
    """One box as a measuring wheel sees it: metres further than the best box, to two places."""

    box: int
    team: str
    to_first_gate_m: float
    to_finish_m: float


@dataclass(frozen=True)
class GroundReport:
    """What the wheel and the tape say. Lengths in metres; `lines_m` for the whole course by choice.

    without_time: how many run of whom the entry list has no time.
    """

    name: str
    length_m: float
    lines_m: dict[str, float]
    start_width_m: float
    bow_m: float
    first_narrowing: tuple[str, float] | None
    first_turn: tuple[str, float] | None
    narrowest_m: tuple[float, float]
    tightest_turn: tuple[str, float] | None
    front_line_per_runner_m: float
    first_gate: str
    boxes: tuple[BoxMetres, ...]
    checkpoints: tuple[tuple[str, float], ...]
    without_time: int = 0


def measure_ground(scenario: Scenario) -> GroundReport:
    """Measure the course and the line; every length 0.30 m off the edges, as on the wheel.

    Check: tests/validation/test_geometry.py.
    """
    strip, line = scenario.strip, scenario.start_line
    gates = strip.gates
    narrow = int(strip.width_m[1:].argmin()) + 1
    turns = [gate for gate in gates if gate.kind == "turn"]
    tight = min(turns, key=lambda g: strip.bend_radius_m[g.first_cut], default=None)
    return GroundReport(
        name=scenario.name,
        length_m=strip.length_m,
        lines_m={choice: _line_m(strip, choice) for choice in CHOICES} if turns else {},
        start_width_m=line.width_m,
        bow_m=bow_m(line.spec),
        first_narrowing=_first(strip, gates, "throat"),
        first_turn=_first(strip, gates, "turn"),
        narrowest_m=(float(strip.width_m[narrow]), float(strip.station_m[narrow])),
        tightest_turn=(tight.name, float(strip.bend_radius_m[tight.first_cut])) if tight else None,
        front_line_per_runner_m=line.spec.box_width_m / line.spec.front_row,
        first_gate=gates[0].name if gates else "finish",
        boxes=_box_metres(scenario),
        without_time=sum(p.time_guessed for team in scenario.teams for p in team.people),
        checkpoints=tuple((mark.name, mark.station_m) for mark in strip.checkpoints),
    )


def _line_m(strip: Strip, choice: str) -> float:
    """The length of the way that takes every named turn in the middle of this choice's band."""
    offsets = {
        gate.name: float(inside_offset_m(choice, strip.width_m[gate.first_cut], 0.5))
        for gate in strip.gates
        if gate.kind == "turn"
    }
    return line_through(strip, offsets).length_m


def _first(strip: Strip, gates: tuple[Gate, ...], kind: str) -> tuple[str, float] | None:
    found = [gate for gate in gates if gate.kind == kind]
    if not found:
        return None
    return found[0].name, float(strip.station_m[found[0].first_cut])


def _box_metres(scenario: Scenario) -> tuple[BoxMetres, ...]:
    """How much further than from the best box is it from the middle of every box?"""
    strip, spec = scenario.strip, scenario.start_line.spec
    first = strip.gates[0].first_cut if strip.gates else strip.finish_cut
    middles = (np.arange(spec.boxes) + 0.5 - spec.boxes / 2) * spec.box_width_m
    points = [(float(x), float(y)) for x, y in paint_m(spec, middles)]
    to_gate = np.array([line_through(strip, {}, point, first).length_m for point in points])
    to_finish = np.array([shortest_line(strip, point).length_m for point in points])
    teams = {team.box: team.name for team in scenario.teams if team.box}
    return tuple(
        BoxMetres(
            b + 1,
            teams.get(b + 1, ""),
            float(to_gate[b] - to_gate.min()),
            float(to_finish[b] - to_finish.min()),
        )
        for b in range(spec.boxes)
    )
