"""What does a pace cost, and what is left of the metres that can be run above the critical speed?

Two parameters a runner: the critical speed, and the reserve D' in metres. Everything is reckoned in
level metres a second: on a slope or on soft ground the speed that the same effort gives on a level road.
"""

from __future__ import annotations

import math

from simrun.base.compiled import compiled
from simrun.laws.slope import running_cost_j_kg_m


@compiled
def effort_m_s(
    speed: float, acceleration_m_s2: float, ground_share: float, cost_share: float, gravity: float
) -> float:
    """The level speed that costs as much as running at `speed` here while gathering or losing speed.

    Gathering speed is running up a slope of a / g, losing it running down one:
    e = v / ground_share [1 + cost_share (C(a/g) / C(0) - 1)], C the cost of running on a slope.
    cost_share: 1 counts it in full, 0 leaves it out. Within slopes of -0.45 to 0.45.
    Source: di Prampero et al. 2005, J. Exp. Biol. 208:2809, and 2015, Eur. J. Appl. Physiol. 115:451
    (abstracts seen). Check: tests/unit/laws/test_reserve.py.
    """
    level = speed / ground_share
    if acceleration_m_s2 == 0.0 or cost_share == 0.0:
        return level
    dearer = running_cost_j_kg_m(acceleration_m_s2 / gravity) / running_cost_j_kg_m(0.0)
    return level * (1.0 + cost_share * (dearer - 1.0))


@compiled
def reserve_after_m(
    reserve: float,
    full: float,
    effort: float,
    critical: float,
    dearer_m_s: float,
    recovery_rate: float,
    step_s: float,
) -> float:
    """What is left of the reserve after one step at this effort.

    Above the critical speed it falls by effort - critical metres a second, and by `dearer_m_s` more.
    Below, what is missing is won back: d(missing)/dt = -rate (critical - effort) / full x missing,
    solved exactly over the step.
    Source: Monod and Scherrer 1965 and later work on running; recovery after Skiba et al. 2015
    (textbook form; its rate is assumed). Check: tests/unit/laws/test_reserve.py.
    """
    if effort >= critical:
        return reserve - (effort - critical + dearer_m_s) * step_s
    missing = full - reserve
    return full - missing * math.exp(-recovery_rate * (critical - effort) * step_s / full)


@compiled
def bearable_effort_m_s(reserve: float, critical: float, ease_s: float) -> float:
    """The most that can still be run: nobody who is empty runs above the critical speed.

    critical + reserve / ease: the last metres of the reserve are spent easing down to it over some
    `ease_s`, so that no step of the clock decides when the end comes.
    """
    return critical + reserve / ease_s


@compiled
def empty_after_s(empty_s: float, reserve: float, empty_below_m: float, step_s: float) -> float:
    """For how long has this runner been empty, one step later? Counted in part below `empty_below_m`.

    d(empty)/dt = 1 - reserve / empty_below, within 0 and 1. Nobody recovers from it in the race.
    Check: tests/unit/tactics/test_racing_laws.py.
    """
    return empty_s + step_s * min(1.0, max(0.0, 1.0 - reserve / empty_below_m))


@compiled
def tired_critical_m_s(
    fresh_m_s: float, empty_s: float, fade_share: float, fade_over_s: float
) -> float:
    """The critical speed of somebody who has been empty for so long: it fades, and then stays.

    fresh (1 - fade_share min(1, empty / fade_over)). That critical speed falls after long hard running is
    published (Jones and others 2019, J. Appl. Physiol. 126; memory: some 10 % after two hours); the 6 % over
    three minutes of a race are assumed (`energy.fade_share`, 0 to 0.10).
    Source: assumption. Check: tests/unit/tactics/test_racing_laws.py.
    """
    return fresh_m_s * (1.0 - fade_share * min(1.0, empty_s / fade_over_s))
