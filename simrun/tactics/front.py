"""How much does the pace in front draw a runner out?"""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled
from simrun.state.arrays import FRONT_STEP_M


@compiled
def ramp(value: float, low: float, high: float) -> float:
    """0 up to low, 1 from high on, even between."""
    return min(1.0, max(0.0, (value - low) / (high - low)))


@compiled
def drawn_out_m_s(
    own: float,
    front: float,
    station_m: float,
    drawn: float,
    whole_to_m: float,
    ends_at_m: float,
) -> float:
    """The wished level speed of a runner whom the front's pace draws: own + drawn fade max(0, front - own).

    fade is 1 up to `whole_to_m` and 0 from `ends_at_m` on. front: what the plans of the fastest 5 % say here.
    That most of a mass field starts near the leaders' pace and slows is published (Hanley 2014, J. Strength
    Cond. Res. 28; Renfree and others 2015: pacing is collective; abstracts seen); size and fading are assumed
    (`racing.drawn_usual` 0.2 to 0.5, `racing.drawn_whole_to_m`, `racing.drawn_ends_at_m`).
    Source: assumption. Check: tests/unit/tactics/test_racing_laws.py.
    """
    fade = 1.0 - ramp(station_m, whole_to_m, ends_at_m)
    return own + drawn * fade * max(0.0, front - own)


@compiled
def front_here_m_s(front_m_s: Any, station_m: float) -> float:
    """The front's pace at this place; 0 where it is not told: nobody is drawn there."""
    at = max(0, int(station_m / FRONT_STEP_M))
    return float(front_m_s[at]) if at < len(front_m_s) else 0.0
