"""What a look finds: who stays there is stepped around, who is further on, how much free track is ahead."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from simrun.course.string import cuts_of
from simrun.engine.kernel.look import NOBODY_M, free_track_m, further_m, step_around
from simrun.laws.settings import settings_of
from simrun.state.arrays import NEAR

RUNNER = settings_of("runner")
STRAIGHT_ON = (1.0, 0.0)


def seen(ahead: float, aside: float, stays: float = 1.0, bodies_m: float = 0.48) -> Any:
    """One body as the runner sees it."""
    near = np.zeros(1, dtype=NEAR).view(np.recarray)
    near.ahead, near.aside, near.stays, near.bodies_m = ahead, aside, stays, bodies_m
    return near


@pytest.mark.parametrize("offset", [0.45, -0.9])
@pytest.mark.parametrize("apart", [0.56, 0.6, 0.9])
def test_the_way_is_the_tangent_on_the_chosen_side(offset: float, apart: float) -> None:
    """The line along it passes the other's middle at the width of both bodies and the sway."""
    near = seen(apart * math.cos(0.3), apart * math.sin(0.3))
    cosine, sine = step_around(*STRAIGHT_ON, offset, 0.0, 1, near, RUNNER)
    assert math.hypot(cosine, sine) == pytest.approx(1.0)
    to_right = near.aside[0] * cosine - near.ahead[0] * sine
    wanted = min(apart, 0.48 + RUNNER.sway_m)
    assert to_right == pytest.approx(-math.copysign(wanted, offset))


def test_nobody_steps_back() -> None:
    """In touch with somebody half to the right, the way past on the right would lead back: left it is."""
    near = seen(0.48 * math.cos(0.3), 0.48 * math.sin(0.3))
    cosine, sine = step_around(*STRAIGHT_ON, 0.45, 0.0, 1, near, RUNNER)
    assert (cosine, sine) == pytest.approx((math.sin(0.3), -math.cos(0.3)))


def test_without_a_better_track_the_nearer_side_is_taken_and_mirrors() -> None:
    """A body to the left is passed on the right; straight ahead neither side is nearer."""
    left, right = seen(0.5, -0.1), seen(0.5, 0.1)
    cosine, sine = step_around(*STRAIGHT_ON, 0.0, 0.0, 1, left, RUNNER)
    assert sine > 0.0
    assert step_around(*STRAIGHT_ON, 0.0, 0.0, 1, right, RUNNER) == (cosine, -sine)
    assert step_around(*STRAIGHT_ON, 0.0, 0.0, 1, seen(0.5, 0.0), RUNNER) == STRAIGHT_ON


def test_along_a_row_of_posts_the_side_is_kept() -> None:
    """The nearest post is now half to the right: who goes left goes on, as one who stands would begin."""
    post = seen(0.6, 0.12)
    standing = step_around(*STRAIGHT_ON, 0.0, 0.0, 1, post, RUNNER)
    assert step_around(*STRAIGHT_ON, 0.0, -0.9, 1, post, RUNNER) == standing
    assert standing[1] < 0.0 < step_around(*STRAIGHT_ON, 0.0, 0.9, 1, post, RUNNER)[1]


@pytest.mark.parametrize(
    "near",
    [seen(0.5, 0.1, stays=0.0), seen(-0.1, 0.5), seen(0.4, 0.55), seen(1.5, 0.1)],
    ids=["waits in a queue", "behind", "beside the way", "far"],
)
def test_who_is_not_held_up_goes_on(near: Any) -> None:
    """Nobody close by and in the way stays there for good."""
    assert step_around(0.8, 0.6, 0.45, 0.0, 1, near, RUNNER) == (0.8, 0.6)


def test_the_nearest_counts() -> None:
    """Of two that stay, in either order."""
    both = np.concatenate([seen(0.9, 0.2), seen(0.5, -0.1)]).view(np.recarray)
    alone = step_around(*STRAIGHT_ON, 0.45, 0.0, 1, both[1:], RUNNER)
    assert step_around(*STRAIGHT_ON, 0.45, 0.0, 2, both, RUNNER) == alone
    assert step_around(*STRAIGHT_ON, 0.45, 0.0, 2, both[::-1], RUNNER) == alone


def test_of_two_in_a_tight_turn_one_is_further_on_for_both() -> None:
    """Two who meet in a fan about a post: what one finds, the other finds with the other sign, to the bit.
    By the own direction each finds the other further on, and lets it go first, for ever.
    """
    angle = np.deg2rad([0.0, 20.0, 40.0, 60.0])
    rays = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    cuts = cuts_of(0.0 * rays, 2.0 * rays)
    dx, dy = np.array([1.276, 0.647]) - [0.528, 0.112]
    there, back = further_m(0, 1, dx, dy, cuts), further_m(1, 0, -dx, -dy, cuts)
    assert there == -back > 0.0
    own = [cuts[c].unit_x * y - cuts[c].unit_y * x for c, x, y in ((1, dx, dy), (2, -dx, -dy))]
    assert min(own) > 0.0, "not the pair that locks"


def track(*others: Any, cosine: float = 1.0, sine: float = 0.0) -> float:
    """The free track of a runner at 5 m/s beside these."""
    near = np.concatenate(others).view(np.recarray) if others else seen(1.0, 0.0)
    return float(free_track_m(5.0, cosine, sine, len(others), near, RUNNER))


def ahead(at_m: float, aside_m: float = 0.0, further: float = 1.0) -> Any:
    """One body further along the course."""
    near = seen(at_m, aside_m, stays=0.0)
    near.further = further
    return near


def test_the_free_track_reaches_to_the_nearest_in_the_way() -> None:
    """The way between the bodies; of several the nearest, in either order; with nobody there, no end."""
    assert track() == NOBODY_M
    assert track(ahead(4.0)) == pytest.approx(4.0 - 0.48)
    both = [ahead(5.0), ahead(3.0)]
    assert track(*both) == track(*both[::-1]) == pytest.approx(3.0 - 0.48)


def test_only_who_is_mostly_in_the_way_and_further_on_takes_track_away() -> None:
    """Half in the way is the edge: nearer in counts, farther out, behind and not further on do not."""
    clear, full = 0.48 + RUNNER.sway_m + 5.0 * RUNNER.sway_per_speed_s, RUNNER.edge_share * 0.48
    edge = 0.5 * (clear + full)
    for side in (-1.0, 1.0):
        assert track(ahead(4.0, side * (edge - 0.01))) < 4.1
        assert track(ahead(4.0, side * (edge + 0.01))) == NOBODY_M
    assert track(ahead(-1.0)) == NOBODY_M
    assert track(ahead(4.0, further=-1.0)) == NOBODY_M


def test_the_free_track_is_that_of_the_chosen_direction() -> None:
    """Straight on somebody is in the way, half a right angle to the right nobody is, and there the other."""
    root = math.sqrt(0.5)
    right = ahead(3.0, 3.0)
    assert track(ahead(4.0), cosine=root, sine=root) == NOBODY_M
    assert track(right) == NOBODY_M
    assert track(right, cosine=root, sine=root) == pytest.approx(math.hypot(3.0, 3.0) - 0.48)
