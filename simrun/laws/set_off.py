"""When does a standing runner set off?"""

from __future__ import annotations

from simrun.base.compiled import compiled

HAIR = 1e-6
"""A wait of half a step more is a step more, whatever the last bit says."""


@compiled
def whole_steps(seconds: float, step_s: float) -> int:
    """The number of steps nearest to so many seconds. Waiting is counted, never added up."""
    return int(seconds / step_s + 0.5 + HAIR)


@compiled
def set_off_wait_s(ahead_m: float, reaction_s: float, wait_per_m_s: float) -> float:
    """How long after the one ahead does a standing runner set off? A reaction, and the longer the further.

    t = reaction + k d, d the distance between the two bodies' middles. Who stands a row behind sees
    that somebody has gone by the room that opens, and has further to go to close up.
    Range: d up to 2 m; reaction and k are assumed, fitted to a start wave of 1.25 m/s at rows 1 m
    apart. Source: an assumption of our own. Check: tests/validation/test_crowd_flow.py (rows
    0.7, 0.85 and 1.2 m apart), tests/theory/test_single_file.py.
    """
    return reaction_s + wait_per_m_s * ahead_m


@compiled
def wait_after_step_s(wait_s: float, blocked_wait_s: float, step_s: float) -> float:
    """How much longer does a runner wait, one step later? Zero: free to go. Always whole steps.

    blocked_wait_s: what has to pass once the body ahead has set off, 0 where nobody stands ahead or their
    own first stride was made: later stops are left to the following law, and a queue shuffles on (kept at
    every stop, the rule lets a dense crowd stand for ever; tests/validation/test_crowd_flow.py). Before
    the gun, `wait_s` is the time to their own first move (gun, sound, reaction).
    """
    left = max(0, whole_steps(wait_s, step_s) - 1)
    return max(left, whole_steps(blocked_wait_s, step_s)) * step_s
