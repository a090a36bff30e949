"""What is seen to be in the way is passed on the side that is open and turns less."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.course.strip import Obstacle
from simrun.engine.field import ways_of
from simrun.tactics.around import LONGEST_SEEN_M, past_obstacles

AIM = (100.0, 0.0)
SQUARE = np.array([[20.0, -2.0], [24.0, -2.0], [24.0, 3.0], [20.0, 3.0]])


def past(*things: Obstacle, x: float = 0.0, y: float = 0.0) -> tuple[float, float]:
    """Where somebody at (x, y) heads who is on the way to the aim."""
    roster: Any = SimpleNamespace(wander=np.ones((1, 1)))
    return past_obstacles(x, y, *AIM, ways_of(roster, (np.zeros((1, 1)),) * 2, things))


@pytest.mark.parametrize("shift", range(4))
def test_the_side_that_turns_less_is_taken(shift: int) -> None:
    """From the middle the right corner is nearer; from further left the left one."""
    thing = Obstacle("barn", np.roll(SQUARE, shift, axis=0))
    assert past(thing) == (20.0, -2.0)
    assert past(thing, y=1.5) == (20.0, 3.0)


def test_in_a_mirror_everything_is_mirrored_and_alike_sides_leave_the_aim() -> None:
    mirror = Obstacle("barn", SQUARE * np.array([1.0, -1.0]))
    assert past(mirror) == (20.0, 2.0)
    assert past(Obstacle("alike", np.array([[20.0, -2.0], [24.0, 0.0], [20.0, 2.0]]))) == AIM


def test_a_closed_side_is_not_taken() -> None:
    assert past(Obstacle("barn", SQUARE, open_right=False)) == (20.0, 3.0)
    assert past(Obstacle("barn", SQUARE, open_left=False), y=1.5) == (20.0, -2.0)
    assert past(Obstacle("barn", SQUARE, open_left=False, open_right=False)) == AIM


def test_of_several_the_nearest_counts() -> None:
    """In whatever order they were drawn."""
    far = Obstacle("far", SQUARE + np.array([30.0, 1.5]))
    near = Obstacle("near", SQUARE)
    assert past(near, far) == past(far, near) == (20.0, -2.0)


@pytest.mark.parametrize(
    ("x", "y"), [(25.0, 0.0), (22.0, 0.0), (0.0, 40.0), (20.0 - LONGEST_SEEN_M - 1.0, 0.0)],
    ids=["past it", "within its outline", "beside it", "too far to be seen"],
)  # fmt: skip
def test_what_is_not_in_the_way_is_let_be(x: float, y: float) -> None:
    assert past(Obstacle("barn", SQUARE), x=x, y=y) == AIM


def test_what_lies_beyond_the_aim_is_let_be() -> None:
    assert past(Obstacle("barn", SQUARE + np.array([90.0, 0.0]))) == AIM
    assert past() == AIM
