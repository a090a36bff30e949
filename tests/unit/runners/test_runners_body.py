"""Are bodies drawn as wide as people are?"""

from __future__ import annotations

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.runners.body import BODIES, LARGEST_DEVIATION, draw_radius_m, shoulders_m
from simrun.runners.streams import stream


@pytest.mark.parametrize("body", BODIES)
def test_a_body_is_half_the_shoulders_wide_and_never_far_from_the_mean(body: str) -> None:
    mean_m, sd_m = shoulders_m(body)
    radius_m = draw_radius_m(body, 100_000, stream(1, "bodies"))
    assert radius_m.shape == (100_000,)
    assert np.max(np.abs(2.0 * radius_m - mean_m)) <= LARGEST_DEVIATION * sd_m + 1e-12


def test_men_are_wider_than_women_runner_by_runner() -> None:
    men, women = (draw_radius_m(body, 500, stream(4, "bodies")) for body in BODIES)
    assert np.all(men > women)


def test_more_runners_leave_the_first_ones_as_they_were() -> None:
    few = draw_radius_m("men", 50, stream(4, "bodies"))
    assert np.array_equal(draw_radius_m("men", 80, stream(4, "bodies"))[:50], few)


def test_an_unknown_body_names_the_nearest() -> None:
    with pytest.raises(
        BadInput, match="body: 'woman'; one of 'men', 'women'; did you mean 'women'"
    ):
        shoulders_m("woman")
