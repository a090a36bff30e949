"""How does a body gather speed toward the speed it wants?"""

from __future__ import annotations

import math

from simrun.base.compiled import compiled


@compiled
def free_acceleration_m_s2(
    speed: float, wished: float, constant_s: float, limit_m_s2: float, step_s: float
) -> float:
    """Mean acceleration over the next step toward `wished`, nobody near.

    v(t) = v0 (1 - exp(-t/tau)), solved exactly over a step, so the step length leaves no trace; never
    more than the limit. When `wished` is below `speed` the same law slows.
    Source: Furusawa, Hill and Parkinson 1927 (memory). Check: tests/validation/test_one_runner.py.
    """
    change = (wished - speed) * (1.0 - math.exp(-step_s / constant_s))
    return min(change / step_s, limit_m_s2)
