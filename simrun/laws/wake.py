"""What does running in somebody's wake save?"""

from __future__ import annotations

from simrun.base.compiled import compiled


@compiled
def shelter(
    gap_m: float, aside_m: float, bodies_m: float, whole_to_m: float, ends_at_m: float
) -> float:
    """How much of the shelter of the body ahead is felt: 1 close behind, 0 outside of its wake.

    gap_m: free room between the bodies; whole up to `whole_to_m`, nothing from `ends_at_m` on. To the
    side it fades until the bodies no longer overlap. How it fades is assumed.
    Check: tests/unit/laws/test_reserve.py.
    """
    if gap_m < 0.0:
        return 0.0
    behind = min(1.0, max(0.0, (ends_at_m - gap_m) / (ends_at_m - whole_to_m)))
    return behind * max(0.0, 1.0 - abs(aside_m) / bodies_m)


@compiled
def saved_share(speed: float, air_share: float, at_m_s: float, shielded: float) -> float:
    """The share of the effort that a full shelter saves at `speed`.

    Air takes `air_share` of the effort at `at_m_s` and grows with the square of the speed; a body
    close ahead takes `shielded` of it away.
    Source: Davies 1980, J. Appl. Physiol. 48:702 (4 % at 6 m/s); Pugh 1971, J. Physiol. 213:255 (80 %
    at 1 m behind), both seen in quotation. Check: tests/unit/laws/test_reserve.py.
    """
    return shielded * air_share * (speed / at_m_s) ** 2


@compiled
def wind_share(
    level: float, ground_share: float, headwind_m_s: float, air_share: float, at_m_s: float
) -> float:
    """The share of the speed that a headwind leaves at equal effort (a tail wind: more than 1).

    Air takes k u |u| of the cost of a metre, u = v + w the speed through the air, k = air_share / at^2 (the
    law of `saved_share`); what a calm takes is in the pace already, so
    level / ground_share_of_v = v [1 + k (u |u| - v^2)], solved by repeating it with the speed found.
    Source: Pugh 1971, J. Physiol. 213:255 (square of the speed through the air; seen in quotation).
    Check: tests/unit/tactics/test_racing_laws.py.
    """
    k, speed = air_share / (at_m_s * at_m_s), level * ground_share
    share = 1.0
    for _ in range(16):
        v = speed * share
        u = v + headwind_m_s
        share = 0.5 * (share + 1.0 / max(0.2, 1.0 + k * (u * abs(u) - v * v)))
    return share
