"""What an edge does to a body, by hand: a corridor 4 m wide along x, a wall on its left."""

from __future__ import annotations

import math

import numpy as np
import pytest

from simrun.course.string import fill_cuts
from simrun.engine.kernel.walls import hold_inside, off_line, off_wall
from simrun.state.arrays import BODY, CUT

FRICTION = 0.2


def corridor(left_wall: bool) -> np.recarray:
    """Three cuts, 10 m apart; paint on the right, a wall or paint on the left."""
    ground = np.zeros(3, dtype=CUT).view(np.recarray)
    x = np.array([0.0, 10.0, 20.0])
    fill_cuts(ground, np.stack([x, x * 0 + 2], axis=1), np.stack([x, x * 0 - 2], axis=1))
    ground["left_barrier"] = int(left_wall)
    return ground


def body(y: float, angle_deg: float, speed: float = 5.0) -> np.recarray:
    """One body 0.23 m in radius at (5, y), running to the left of the corridor's way by this angle."""
    me = np.zeros(1, dtype=BODY).view(np.recarray)
    me["x"], me["y"], me["radius_m"], me["speed"] = 5.0, y, 0.23, speed
    me["heading_x"] = math.cos(math.radians(angle_deg))
    me["heading_y"] = math.sin(math.radians(angle_deg))
    return me


@pytest.mark.parametrize("angle_deg", [10.0, 30.0, 60.0, 80.0, 90.0])
def test_a_wall_takes_the_speed_into_it_and_some_of_the_rest(angle_deg: float) -> None:
    """v cos a less friction times v sin a is left, along the wall; never less than nothing."""
    me = body(1.9, angle_deg)
    hold_inside(me[0], corridor(True), FRICTION)
    angle = math.radians(angle_deg)
    kept = max(0.0, 5.0 * (math.cos(angle) - FRICTION * math.sin(angle)))
    assert me["speed"][0] == pytest.approx(kept, abs=1e-9)
    assert me["y"][0] == pytest.approx(2.0 - 0.23)
    if kept > 0:
        assert me["heading_y"][0] == pytest.approx(0.0, abs=1e-9)


def test_who_runs_away_from_the_wall_keeps_its_speed() -> None:
    """Pushed off the wall, but not slowed."""
    me = body(1.9, -20.0)
    hold_inside(me[0], corridor(True), FRICTION)
    assert me["speed"][0] == 5.0
    assert me["y"][0] == pytest.approx(1.77)


def test_paint_holds_the_centre_only() -> None:
    """A marked edge may be brushed: 0.1 m inside is left alone, 0.1 m outside is brought back."""
    for y, after in ((1.9, 1.9), (2.1, 2.0), (-1.9, -1.9), (-2.1, -2.0)):
        me = body(y, 0.0)
        hold_inside(me[0], corridor(False), FRICTION)
        assert me["y"][0] == pytest.approx(after)


def test_a_point_and_a_wall() -> None:
    """Off the end of a wall by 3-4-5; off a line to the wanted side only."""
    assert off_wall(10.3, 0.4, 0.0, 0.0, 10.0, 0.0, 1.0) == pytest.approx((10.6, 0.8))
    assert off_wall(5.0, 2.0, 0.0, 0.0, 10.0, 0.0, 1.0) == (5.0, 2.0)
    assert off_line(5.0, 1.0, 0.0, 0.0, 10.0, 0.0, 0.0, 1.0) == pytest.approx((5.0, 0.0))
    assert off_line(5.0, -1.0, 0.0, 0.0, 10.0, 0.0, 0.0, 1.0) == (5.0, -1.0)
