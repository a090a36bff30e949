"""What does the drawn course measure? Lengths of the lines, extra metres of every box, widths, distances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.equal_ways import aimed_line, target_of, ways_m
from simrun.course.route import line_through
from simrun.course.start import StartSpec, bow_m
from simrun.course.strip import Gate, Strip
from simrun.runners.line_choice import CHOICES, inside_offset_m
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema import MOST_TILT_DEG

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

    without_time: how many run of whom the entry list has no time. aimed_at: the gate (or "finish") for
    which the line was solved, empty for none; aim_m, tilt_deg: its point and turn to the left; sideways_m:
    how far its middle lies to the left of the middle of the ground.
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
    aimed_at: str = ""
    aim_m: float | None = None
    tilt_deg: float = 0.0
    sideways_m: float = 0.0


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
        first_narrowing=first_real_narrowing(strip, line.width_m),
        first_turn=_first_turn(strip, gates),
        narrowest_m=(float(strip.width_m[narrow]), float(strip.station_m[narrow])),
        tightest_turn=(tight.name, float(strip.bend_radius_m[tight.first_cut])) if tight else None,
        front_line_per_runner_m=line.spec.box_width_m / line.spec.front_row,
        first_gate=gates[0].name if gates else "finish",
        boxes=_box_metres(scenario),
        without_time=sum(p.time_guessed for team in scenario.teams for p in team.people),
        aimed_at=scenario.start.aim_at,
        aim_m=line.spec.aim_m,
        tilt_deg=line.spec.tilt_deg,
        sideways_m=line.spec.sideways_m,
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


REAL_SHARE = 0.5
"""A narrowing of at least so much of the start line squeezes no field (our own choice)."""


def first_real_narrowing(strip: Strip, line_m: float) -> tuple[str, float] | None:
    """Where does the course first become narrower than half the start line? Its name, and metres to where it
    is narrow, as a wheel reads them from the start; None: nowhere. Check:
    tests/unit/measure/test_ground_report.py.
    """
    throats = (gate for gate in strip.gates if gate.kind == "throat")
    real = (g for g in throats if strip.width_m[g.last_cut] < REAL_SHARE * line_m)
    gate = next(real, None)
    return None if gate is None else (gate.name, float(strip.station_m[gate.last_cut]))


def _first_turn(strip: Strip, gates: tuple[Gate, ...]) -> tuple[str, float] | None:
    turn = next((gate for gate in gates if gate.kind == "turn"), None)
    return None if turn is None else (turn.name, float(strip.station_m[turn.first_cut]))


def farthest_box_m(strip: Strip, spec: StartSpec) -> float:
    """How much further than from the best box is it to the first gate from the box that has it farthest?

    What geometry alone makes of a line, with nobody in anybody's way: see `BoxMetres`.
    """
    first = strip.gates[0].first_cut if strip.gates else strip.finish_cut
    return float(np.ptp(ways_m(strip, spec, first)))


def extra_metres(scenario: Scenario) -> Array:
    """How much further than from the best box is it from every box's front row to the first gate? (B,)

    The first column of `measure_ground` alone, at once. Check: tests/speed/bench_desk.py,
    tests/unit/scenario/test_toml_edit.py.
    """
    strip, spec = scenario.strip, scenario.start_line.spec
    first = strip.gates[0].first_cut if strip.gates else strip.finish_cut
    to_gate = ways_m(strip, spec, first)
    return np.asarray(to_gate - to_gate.min())


def _box_metres(scenario: Scenario) -> tuple[BoxMetres, ...]:
    """How much further than from the best box is it from the middle of every box?"""
    strip, spec = scenario.strip, scenario.start_line.spec
    first = strip.gates[0].first_cut if strip.gates else strip.finish_cut
    most = max((team.runners for team in scenario.teams), default=spec.front_row)
    rows = np.array([ways_m(strip, spec, first, row) for row in range(-(-most // spec.front_row))])
    to_gate = rows[0]
    to_finish = ways_m(strip, spec, strip.finish_cut)
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


@dataclass(frozen=True)
class Aimed:
    """The line as it could be: about a point aim_m ahead of it, turned by tilt_deg to the left.

    now_m, then_m: how much further the farthest box has it to the gate (or the finish) than the best one, as
    the line is and as it could be.
    """

    gate: str
    aim_m: float
    tilt_deg: float
    now_m: float
    then_m: float


def aimed(scenario: Scenario, at: str = "") -> Aimed | None:
    """Which arc makes the shortest ways to this gate, or to the finish, equal for every box?

    at: the name of a gate as it is first come to, "finish", or empty for the first gate. Aim and tilt are
    rounded to what a crew lays out; now_m and then_m are measured with them. None where there is one box, or
    no gate and none named. Raises BadInput for a name that is none. Check: tests/validation/test_aimed.py.
    """
    strip, spec = scenario.strip, scenario.start_line.spec
    if spec.boxes < 2 or not (strip.gates or at):
        return None
    name, cut = target_of(strip, at, "--aim")
    then = aimed_line(strip, spec, cut, MOST_TILT_DEG)
    now_m, then_m = (float(np.ptp(ways_m(strip, line, cut))) for line in (spec, then))
    return Aimed(name, then.aim_m or 0.0, then.tilt_deg, now_m, then_m)
