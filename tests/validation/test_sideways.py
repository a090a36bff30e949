"""A line moved sideways on its ground: by hand, in a mirror, and in a race."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

import simrun
from simrun.answers.check.words import fact_rows
from simrun.course.start import StartSpec, in_line_m, paint_m
from simrun.measure.wheel import aimed, measure_ground
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.off_axis import one_sided

FEN = read(Path(__file__).parents[2] / "scenarios" / "brindle_fen.toml")
ROOM_M = 0.30
"""So far off an edge a wheel is run."""


def neck(**start: Any) -> Scenario:
    """A field 60 m wide, of which the left edge comes in to a neck of 8 m over 60 m, from 120 m on: the neck
    lies 22 to 30 m to the right of the middle, its mouth 180 m ahead."""
    line = {"start.width": 20.0, "start.box_width": 2.0, "start.shape": "straight"}
    return one_sided(0).day.changed(line | {f"start.{key}": value for key, value in start.items()})


@pytest.mark.parametrize("sideways_m", [-20.0, -6.5, 0.0, 3.25, 20.0])
def test_the_metres_of_every_box_by_hand(sideways_m: float) -> None:
    """To the mouth of the neck, 0.30 m off its left edge: sqrt(180^2 + d^2), or 180 m from within.

    Every box looks past the left edge of the neck, which is a straight line from 30 m to the left at 120 m
    to 22 m to the right at 180 m: nothing else is in the way.
    """
    found = [box.to_first_gate_m for box in measure_ground(neck(sideways=sideways_m)).boxes]
    left_m = sideways_m + 10.0 - 1.0 - 2.0 * np.arange(10)
    aside = np.maximum(0.0, left_m - (-22.0 - ROOM_M)) - np.maximum(0.0, -30.0 + ROOM_M - left_m)
    by_hand = np.hypot(180.0, aside)
    np.testing.assert_allclose(found, by_hand - by_hand.min(), atol=0.02)


def test_moved_left_and_moved_right_mirror_each_other() -> None:
    """A gap straight ahead, 4 m wide: moved left and right mirror each other.

    By hand, the gap far away: extra metres grow as the square of the way aside. The outermost of 14 boxes of
    2 m has 13 m less 1.7 m of it, 2.5 m more once the line is moved.
    """
    plain = FEN.changed({"start.width": 30.0, "start.box_width": 2.0})
    left, right = (plain.changed({"start.sideways": s}) for s in (2.5, -2.5))
    boxes = [np.array([b.to_first_gate_m for b in measure_ground(d).boxes]) for d in (left, right)]
    np.testing.assert_allclose(boxes[0], boxes[1][::-1], atol=1e-9)
    still = [box.to_first_gate_m for box in measure_ground(plain).boxes]
    assert np.ptp(boxes[0]) / np.ptp(still) == pytest.approx((13.8 / 11.3) ** 2, rel=0.01)


def test_to_the_line_and_back() -> None:
    """A point of the paint, so far to the right of the middle, is told so by the line: bow and turn too."""
    spec = StartSpec(60.0, "straight", None, 6.0, 10, 3, tilt_deg=7.0, sideways_m=-4.2)
    points = paint_m(spec, np.array([-30.0, 0.0, 12.5]), 1.5)
    np.testing.assert_allclose(
        in_line_m(spec, points), [[-1.5, 30], [-1.5, 0], [-1.5, -12.5]], atol=1e-12
    )
    np.testing.assert_allclose(paint_m(spec, np.zeros(1)), [[0.0, -4.2]])


def test_it_is_raced_where_it_is_painted() -> None:
    """Everybody of the entry list stands 2 m further to the left before the gun, and nobody elsewhere."""
    plain = FEN.changed({"start.width": 30.0, "start.box_width": 2.0, "clock.limit": 2.0})
    here, there = (simrun.race(d, 1) for d in (plain, plain.changed({"start.sideways": 2.0})))
    moved = there.position_m[0] - here.position_m[0]
    np.testing.assert_allclose(moved, np.tile([0.0, 2.0], (len(moved), 1)), atol=0.02)
    assert there.roster.throat_share == pytest.approx(here.roster.throat_share, abs=1e-12)


def test_moved_towards_the_neck_it_needs_less_of_a_turn() -> None:
    """Equal ways from a line that lies 20 m nearer to it: turned by less, and as equal."""
    far, near = (aimed(neck(sideways=s)) for s in (0.0, -20.0))
    assert far is not None
    assert near is not None
    assert abs(near.tilt_deg) < 0.4 * abs(far.tilt_deg)
    assert max(near.then_m, far.then_m) < 0.1


def test_the_inspection_tells_where_its_middle_lies() -> None:
    """In the reader's units, and nothing of it where the line was not moved."""
    told = dict(map(tuple, fact_rows(measure_ground(neck(sideways=-6.5)), "metric")))
    assert told["  its middle"] == "6.5 m to the right of the middle of the ground"
    assert "  its middle" not in dict(map(tuple, fact_rows(measure_ground(neck()), "metric")))
