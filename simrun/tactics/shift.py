"""How far has a runner shifted their own line because somebody is in it?

A line through a bend or a narrowing is chosen once, by way. On the approach it is chosen again, by way and by
queue: who keeps going round the one ahead on one side takes the whole line over to that side, and lets it
come back once the way is free. So nobody pays for each look around the same queue, and a crowd uses the
ground.
"""

from __future__ import annotations

from simrun.base.compiled import compiled


@compiled
def shifted_m(
    shift_m: float, offset_m: float, look_s: float, over_s: float, back_s: float
) -> float:
    """The shift of their own line after a look, metres to the right; the chosen track lies `offset_m` off it.

    Formula: with a track aside chosen the shift grows by offset look / over; with their own line free it
    fades by shift look / back. Range: over 0.5 to 2 s, back 8 to 30 s. Source: an assumption of our own;
    what it brings is measured by the queue audit (`simrun evidence`).
    Check: tests/unit/tactics/test_shift.py, tests/validation/test_layouts.py (both ends of `pull`).
    """
    if offset_m == 0.0:
        return shift_m * max(0.0, 1.0 - look_s / back_s)
    return shift_m + offset_m * look_s / over_s
