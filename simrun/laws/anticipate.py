"""How hard does a body lean sideways away from a collision it sees coming?"""

from __future__ import annotations

import math

from simrun.base.compiled import compiled

NEVER_S = 1e9


@compiled
def collision_time_s(x: float, y: float, vx: float, vy: float, bodies_m: float) -> float:
    """When do two discs touch, one at (x, y) moving at (vx, vy) as seen from the other? NEVER_S if not."""
    closing = -(x * vx + y * vy)
    speed2 = vx * vx + vy * vy
    if closing <= 0.0 or speed2 < 1e-6:
        return NEVER_S
    apart2 = x * x + y * y - bodies_m * bodies_m
    if apart2 <= 0.0:
        return NEVER_S
    root2 = closing * closing - speed2 * apart2
    if root2 <= 0.0:
        return NEVER_S
    return (closing - math.sqrt(root2)) / speed2


@compiled
def anticipation_m_s2(time_s: float, strength: float, horizon_s: float) -> float:
    """The push of a collision `time_s` ahead, per metre per second by which it could be avoided.

    Minus the slope of the energy (k / t^2) exp(-t / t0): k exp(-t/t0) / t^2 (2/t + 1/t0).
    Source: Karamouzas, Skinner and Guy 2014, Phys. Rev. Lett. 113, 238701 (memory).
    """
    t = max(time_s, 0.1)
    return strength * math.exp(-t / horizon_s) / (t * t) * (2.0 / t + 1.0 / horizon_s)
