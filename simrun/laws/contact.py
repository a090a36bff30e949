"""What happens when bodies touch? They are pushed apart and lose the speed of approach."""

from __future__ import annotations

import math

from simrun.base.compiled import compiled

GRAIN = 2.0**40
"""Pushes are added as whole numbers of 2^-40 m, so that the order of adding cannot matter."""


@compiled
def grains(metres: float) -> int:
    """A length as a whole number of grains."""
    return int(round(metres * GRAIN))


@compiled
def push_apart_m(apart_m: float, bodies_m: float) -> float:
    """How far does each of two bodies move so that they touch no more? Half of the overlap."""
    return 0.5 * max(0.0, bodies_m - apart_m)


@compiled
def impulse_m_s(approach: float, slide: float, friction: float) -> tuple[float, float]:
    """The change of speed of each of two equal bodies: along the line between them, and across it.

    approach > 0: they close in; half of it is taken from each (inelastic). Sliding friction takes at
    most friction times that, and never turns the slide round.
    """
    along = 0.5 * max(0.0, approach)
    across = min(0.5 * abs(slide), friction * along)
    return along, math.copysign(across, slide)
