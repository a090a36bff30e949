"""What does the drawn course measure? Lengths of the lines, extra metres of every box, widths, distances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.route import line_through, plain_margins, trace
from simrun.course.start import StartSpec, bow_m, box_middles_m, paint_m
from simrun.course.string import cuts_of
from simrun.course.strip import Gate, Strip
from simrun.runners.line_choice import CHOICES, inside_offset_m
from simrun.scenario.scenario import Scenario

Array = NDArray[np.float64]


@dataclass(frozen=True)
class BoxMetres:
    """One box as a measuring wheel sees it: metres further than the front row of the best box, to two places.

    rows_behind_m: to the first gate from the middle of the second row, the third and so on.
    """

    box: int
    team: str
    to_first_gate_m: float
    to_finish_m: float
    rows_behind_m: tuple[float, ...] = ()


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


def farthest_box_m(strip: Strip, spec: StartSpec) -> float:
    """How much further than from the best box is it to the first gate from the box that has it farthest?

    What geometry alone makes of a line, with nobody in anybody's way: see `BoxMetres`.
    """
    first = strip.gates[0].first_cut if strip.gates else strip.finish_cut
    return float(np.ptp(_to_gate_m(strip, spec, 0, first)))


def extra_metres(scenario: Scenario) -> Array:
    """How much further than from the best box is it from every box's front row to the first gate? (B,)

    The first column of `measure_ground` alone, at once. Check: tests/speed/bench_desk.py,
    tests/unit/scenario/test_toml_edit.py.
    """
    strip, spec = scenario.strip, scenario.start_line.spec
    first = strip.gates[0].first_cut if strip.gates else strip.finish_cut
    to_gate = _to_gate_m(strip, spec, 0, first)
    return np.asarray(to_gate - to_gate.min())


def _box_metres(scenario: Scenario) -> tuple[BoxMetres, ...]:
    """How much further than from the best box is it from the middle of every box?"""
    strip, spec = scenario.strip, scenario.start_line.spec
    first = strip.gates[0].first_cut if strip.gates else strip.finish_cut
    most = max((team.runners for team in scenario.teams), default=spec.front_row)
    rows = np.array(
        [_to_gate_m(strip, spec, row, first) for row in range(-(-most // spec.front_row))]
    )
    to_gate = rows[0]
    to_finish = _ways_m(strip, paint_m(spec, box_middles_m(spec)), strip.finish_cut)
    teams = {team.box: team.name for team in scenario.teams if team.box}
    return tuple(
        BoxMetres(
            b + 1,
            teams.get(b + 1, ""),
            float(to_gate[b] - to_gate.min()),
            float(to_finish[b] - to_finish.min()),
            tuple((rows[1:, b] - to_gate.min()).tolist()),
        )
        for b in range(spec.boxes)
    )


def _to_gate_m(strip: Strip, spec: StartSpec, behind: int, gate_cut: int) -> Array:
    """How far is it to the first gate from the middle of every box, so many rows behind the front? (B,)"""
    points = paint_m(spec, box_middles_m(spec), behind * spec.row_gap_m)
    return _ways_m(strip, points, gate_cut)


def _ways_m(strip: Strip, points_m: Array, last_cut: int) -> Array:
    """How long is the shortest way from every one of these points to a cut? (P,)"""
    cuts, margins = cuts_of(strip.left_m, strip.right_m), plain_margins(strip.width_m)
    return np.array(
        [trace(cuts, *margins, (float(x), float(y)), last_cut).length_m for x, y in points_m]
    )
