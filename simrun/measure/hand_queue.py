"""What does a throat cost, computed by hand? Closed forms of the deterministic queue."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def queue_delay_s(arrival_s: Array, capacity_per_s: float) -> Array:
    """How long does everybody wait at a throat that lets so many through a second? (N,)

    First come, first served: out = max(in, the one before out + 1/C). Source: deterministic queue,
    for example Newell 1982. Check: tests/theory/test_queue.py.
    """
    order = np.argsort(arrival_s, kind="stable")
    ranks = np.arange(len(arrival_s)) / capacity_per_s
    out = np.maximum.accumulate(arrival_s[order] - ranks) + ranks
    delay = np.empty(len(arrival_s))
    delay[order] = out - arrival_s[order]
    return delay


def line_arrivals_s(count: int, line_m: float, straight_m: float, speed_m_s: float) -> Array:
    """When would runners spread evenly over a line reach a throat on its centre line, unhindered? (N,)

    Evenly from one end of the line to the other, and straight to the throat.
    """
    aside = np.linspace(-line_m / 2, line_m / 2, count)
    return np.asarray(np.hypot(aside, straight_m) / speed_m_s)


def free_straight_m(
    count: int, speed_m_s: float, spread_m_s: float, capacity_per_s: float
) -> float:
    """Beyond which straight do speeds N(v, sigma) arrive so spread out that no queue forms?

    L* = N v^2 / (C sigma sqrt(2 pi)): there the peak of the arrivals is C.
    """
    return count * speed_m_s**2 / (capacity_per_s * spread_m_s * np.sqrt(2 * np.pi))


def through_s(people: int, width_m: float, specific_flow_per_s_m: float) -> float:
    """How long do so many take through an opening of this width? N / (F w)"""
    return people / (specific_flow_per_s_m * width_m)
