"""How fast does equal power carry a runner up or down a slope?"""

from __future__ import annotations

from simrun.base.compiled import compiled


@compiled
def running_cost_j_kg_m(slope: float) -> float:
    """The energy cost of running on a slope (rise over run), joules per kilogram and metre.

    155.4 i^5 - 30.4 i^4 - 43.3 i^3 + 46.3 i^2 + 19.5 i + 3.6, within -0.45 to 0.45.
    Source: Minetti et al. 2002, J Appl Physiol 93:1039 (seen). Check: tests/validation/test_one_runner.py.
    """
    i = min(0.45, max(-0.45, slope))
    return ((((155.4 * i - 30.4) * i - 43.3) * i + 46.3) * i + 19.5) * i + 3.6


@compiled
def slope_share(slope: float, downhill_cap: float) -> float:
    """The share of the level speed at equal power; downhill never more than 1 + the cap."""
    return min(1.0 + downhill_cap, running_cost_j_kg_m(0.0) / running_cost_j_kg_m(slope))
