"""Straights and arcs one after the other: places by hand, and how they move, by small differences."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.course.walked.track_chain import Bit, Pose, chain_from

NUMBERS = np.array([3.0, -2.0, 0.4, 50.0, 1.2, 12.0, 30.0, -2.8, 8.0, 40.0])
AT = (3, 4, 6, 7, 9)


def chain_of(numbers: np.ndarray):
    slope = np.zeros((3, len(numbers)))
    slope[[0, 1, 2], [0, 1, 2]] = 1.0
    bits = (
        Bit(numbers[3]),
        Bit(bend_rad=numbers[4], radius_m=numbers[5]),
        Bit(numbers[6]),
        Bit(bend_rad=numbers[7], radius_m=numbers[8]),
        Bit(numbers[9]),
    )
    return chain_from(Pose(numbers[:3], slope), bits, AT)


def test_a_quarter_to_the_left_leads_where_a_compass_says() -> None:
    """10 m east, a quarter of a circle of 5 m to the left, 20 m north: at (15, 25), by hand."""
    slope = np.zeros((3, 7))
    bits = (Bit(10.0), Bit(bend_rad=np.pi / 2, radius_m=5.0), Bit(20.0))
    chain = chain_from(Pose(np.zeros(3), slope), bits, (3, 4, 6))
    np.testing.assert_allclose(chain.poses[-1].value, [15, 25, np.pi / 2], atol=1e-12)
    assert chain.length_m == pytest.approx(30 + 2.5 * np.pi)
    middle = 10 + 5 * np.sin(np.pi / 4), 5 - 5 * np.cos(np.pi / 4)
    np.testing.assert_allclose(
        chain.points_at(np.array([10 + 1.25 * np.pi]))[0], middle, atol=1e-12
    )


@pytest.mark.parametrize("at", range(len(NUMBERS)))
def test_slopes_are_those_of_small_differences(at: int) -> None:
    """Of the last pose, and of how far 40 points lie beside the chain."""
    small = np.zeros(len(NUMBERS))
    small[at] = 1e-6
    one, other = chain_of(NUMBERS - small), chain_of(NUMBERS + small)
    here = chain_of(NUMBERS)
    moved = (other.poses[-1].value - one.poses[-1].value) / 2e-6
    np.testing.assert_allclose(here.poses[-1].slope[:, at], moved, atol=1e-5)
    along = np.linspace(1, here.length_m - 1, 40)
    points = here.points_at(along) + np.random.default_rng(1).normal(0, 1.5, (40, 2))
    bit, near = here.nearest(points, along)
    assert np.abs(near - along).max() < 8
    beside = (other.beside(points, bit)[0] - one.beside(points, bit)[0]) / 2e-6
    np.testing.assert_allclose(here.beside(points, bit)[1][:, at], beside, atol=1e-5)
