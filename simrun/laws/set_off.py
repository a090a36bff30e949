"""When does a standing runner set off?"""

from __future__ import annotations

from simrun.base.compiled import compiled


@compiled
def wait_after_step_s(
    wait_s: float,
    gap_m: float,
    before_first_stride: bool,
    stride_room_m: float,
    reaction_s: float,
    step_s: float,
) -> float:
    """How much longer does a runner wait, one step later? Zero: free to go.

    Who has not set off yet and has less room than a first stride waits; once there is room, the restart
    reaction has to pass. This gives the start wave its finite speed. Later stops are left to the
    following law: a queue shuffles on with less room (held at every stop, the rule lets a dense crowd
    stand for ever; tests/validation/test_crowd_flow.py). Before the gun, `wait_s` is the time to the own
    first move (gun, sound, reaction).
    """
    if wait_s > 0.0:
        left = max(0.0, wait_s - step_s)
        blocked = gap_m < stride_room_m
        return max(left, reaction_s) if blocked and left < reaction_s else left
    if before_first_stride and gap_m < stride_room_m:
        return reaction_s
    return 0.0
