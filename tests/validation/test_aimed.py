"""The arc that makes the ways equal: against hand calculation, on ten courses off the axis, and in a race."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.equal_ways import bowed, nearest_to_nothing, ways_m
from simrun.course.route import line_through
from simrun.course.start import StartSpec, bow_m, box_middles_m, build_start_line, paint_m
from simrun.engine.run import from_box
from simrun.measure.wheel import Aimed, aimed, measure_ground
from simrun.scenario.changes.changes_layout import with_arc
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.off_axis import off_axis

OFF_AXIS = off_axis()
SCENARIOS = Path(__file__).parents[2] / "scenarios"
DAYS = {name: read(SCENARIOS / f"{name}.toml") for name in ("ferry_meadow", "ostrel_common")}


@pytest.mark.parametrize("name", ["brindle_fen", "ferry_meadow", "sallow_heath"])
def test_the_same_arc_as_by_another_search(name: str) -> None:
    """scipy's least squares from the other side of the hollow: ways as equal, and no more equal.

    Source: scipy.optimize.least_squares, of which ours is a short stand-in.
    """
    from scipy.optimize import least_squares

    day = read(SCENARIOS / f"{name}.toml")
    strip, spec = day.strip, day.start_line.spec
    cut, half = strip.gates[0].first_cut, spec.width_m / 2

    def off(at: np.ndarray) -> np.ndarray:
        ways = ways_m(strip, bowed(spec, *at), cut)
        return np.asarray(ways - ways.mean())

    theirs = least_squares(off, [1.0, 2.0], bounds=([-30, 1e-3], [30, 0.95 * half]), xtol=1e-10)
    ours = nearest_to_nothing(
        off, np.array([0.5, 3.0]), np.array([-30, 1e-3]), np.array([30, 0.95 * half])
    )
    assert ours == pytest.approx(theirs.x, abs=2e-3)
    assert float(off(ours) @ off(ours)) <= float(off(theirs.x) @ off(theirs.x)) + 1e-6


@pytest.mark.parametrize("tilt_deg", [-8.0, 0.0, 3.05, 20.0])
def test_a_tilted_arc_is_as_far_from_its_point_everywhere(tilt_deg: float) -> None:
    """Hand calculation: the point lies aim (cos, sin) of the tilt ahead; 102 m about 610 m bow 2.136 m still.

    Source of the bow: the same line untilted, tests/validation/test_geometry.py.
    """
    spec = StartSpec(102.0, "arc", 610.0, 3.0, 34, 4, tilt_deg=tilt_deg)
    point = 610.0 * np.array([np.cos(np.radians(tilt_deg)), np.sin(np.radians(tilt_deg))])
    line = build_start_line(spec).line_m
    np.testing.assert_allclose(np.hypot(*(line - point).T), 610.0, atol=1e-9)
    assert bow_m(spec) == pytest.approx(2.136, abs=5e-4)
    behind = paint_m(spec, np.array([-51.0, 0.0, 51.0]), 2.0)
    np.testing.assert_allclose(np.hypot(*(behind - point).T), 612.0, atol=1e-9)


def test_a_mirrored_tilt_is_the_mirrored_line() -> None:
    """Turned as far to the other side: the same line in a mirror, the last box for the first."""
    left, right = (
        build_start_line(StartSpec(60.0, "arc", 150.0, 6.0, 10, 3, tilt_deg=t)) for t in (5, -5)
    )
    np.testing.assert_allclose(left.line_m, right.line_m[::-1] * [1, -1], atol=1e-12)
    np.testing.assert_allclose(left.boxes[0].left_m, right.boxes[-1].right_m * [1, -1], atol=1e-12)


@pytest.mark.parametrize("name", sorted(OFF_AXIS))
def test_the_ways_are_equal_where_the_narrowing_lies_aside(name: str) -> None:
    """2 to 13 m between the boxes become less than 0.4 m, as the wheel runs them."""
    day = OFF_AXIS[name].day
    found = aimed(day)
    assert found is not None
    assert found.now_m > 2.0
    assert found.then_m < 0.4
    report = measure_ground(with_arc(day, found.aim_m, found.tilt_deg))
    assert max(box.to_first_gate_m for box in report.boxes) == pytest.approx(found.then_m, abs=1e-9)


def test_mirrored_courses_have_mirrored_tilts() -> None:
    """The neck that comes in from the left and the one that comes in from the right."""
    left, right = (aimed(OFF_AXIS[f"one-sided {n}"].day) for n in (1, 2))
    assert left is not None
    assert right is not None
    assert (left.tilt_deg, left.aim_m) == (-right.tilt_deg, right.aim_m)


@pytest.mark.parametrize(
    ("name", "gate"),
    [("ferry_meadow", "gateway"), ("ferry_meadow", "finish"), ("ostrel_common", "finish")],
)
def test_a_later_gate_and_the_finish_have_an_arc_of_their_own(name: str, gate: str) -> None:
    """The farm race and the championship, whose ways part and bend after the first gate: the arc for a place
    leaves less between the ways to it, each measured by the wheel, than the arc for the first gate does."""
    day = DAYS[name]
    first, found = aimed(day), aimed(day, gate)
    assert first is not None
    assert found is not None
    assert found.then_m < 0.5
    assert found.then_m < 0.2 * found.now_m
    cuts = {gate.name: gate.first_cut for gate in reversed(day.strip.gates)}
    cut = cuts.get(found.gate, day.strip.finish_cut)
    there = [_apart_m(day, line, cut) for line in (found, first)]
    assert there[0] == pytest.approx(found.then_m, abs=1e-9)
    assert there[0] < there[1]


def _apart_m(day: Scenario, line: Aimed, cut: int) -> float:
    spec = with_arc(day, line.aim_m, line.tilt_deg).start_line.spec
    ends = [tuple(point) for point in paint_m(spec, box_middles_m(spec))]
    return float(np.ptp([line_through(day.strip, {}, end, cut).length_m for end in ends]))


def test_the_way_to_the_finish_is_as_long_from_every_box_in_the_report() -> None:
    """The championship aimed at its finish: 6.5 m between the boxes become 0.2, as `check` measures them."""
    day = DAYS["ostrel_common"]
    found = aimed(day, "finish")
    assert found is not None
    boxes = measure_ground(with_arc(day, found.aim_m, found.tilt_deg)).boxes
    assert max(box.to_finish_m for box in measure_ground(day).boxes) == pytest.approx(
        6.45, abs=0.01
    )
    assert max(box.to_finish_m for box in boxes) < 0.25


def test_a_gate_that_is_not_there_is_one_line() -> None:
    """The nearest right name is told."""
    with pytest.raises(BadInput, match="did you mean 'gateway'"):
        aimed(DAYS["ferry_meadow"], "gatewy")


def _alone_s(day: Scenario, box: int) -> float:
    """The same first runner of the roster, alone from the middle of this box."""
    options = {"alone": True, "frames": False, "settings": None}
    return float(from_box(day, day.roster(1), box, options).run().tape.crossing_s[0, 0])


def test_who_runs_alone_is_at_the_gate_as_soon_from_every_box() -> None:
    """In the engine: a runner alone from the first, the middle and the last box, to the end of the neck.

    6.6 m apart they need about 1.3 s more; on the arc no more than 0.05 s (one step of the clock).
    """
    day = OFF_AXIS["one-sided 1"].day
    found = aimed(day)
    assert found is not None
    at = round(float(day.strip.station_m[day.strip.gates[0].first_cut]), 2)
    marks = {"course.checkpoints": [{"name": "neck", "at": at}]}
    plain = day.changed(marks)
    arc = with_arc(plain, found.aim_m, found.tilt_deg)
    apart = []
    for each in (plain, arc):
        times = [_alone_s(each, box) for box in (1, 5, 10)]
        apart.append(max(times) - min(times))
    assert apart[0] > 0.8
    assert apart[1] < 0.1
