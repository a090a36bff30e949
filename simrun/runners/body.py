"""How wide is everybody?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.sources import figure

BODIES = ("men", "women")

LARGEST_DEVIATION = 3.0
"""Bodies stop this many standard deviations from the mean: no dwarfs and no giants by chance."""


def shoulders_m(body: str) -> tuple[float, float]:
    """Mean and standard deviation of the breadth over the deltoid muscles, in metres.

    The spread is that of the bones, in proportion. Raises BadInput naming the nearest body.
    """
    check_body(body)
    mean_m = figure(f"people.{body}_shoulders_m").value
    bones_m = figure(f"people.{body}_biacromial_m").value
    return mean_m, mean_m * figure(f"people.{body}_biacromial_sd_m").value / bones_m


def draw_radius_m(body: str, count: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Half the shoulder breadth of `count` runners, (N,), in metres.

    Source: Heinz et al. 2003 (seen), breadth over the deltoids from memory.
    Check: tests/validation/test_people.py.
    """
    mean_m, sd_m = shoulders_m(body)
    deviation = np.clip(rng.standard_normal(count), -LARGEST_DEVIATION, LARGEST_DEVIATION)
    return np.asarray(0.5 * (mean_m + sd_m * deviation), dtype=np.float64)


def check_body(body: str) -> None:
    """Raise BadInput unless `body` is one of `BODIES`."""
    if body not in BODIES:
        raise BadInput(
            Problem("body", repr(body), "one of 'men', 'women'", nearest_word(body, BODIES))
        )
