"""How much harder does somebody run who means to run lost seconds back, and from where on?"""

from __future__ import annotations

AT_ONCE, EVENLY, LATE = "at once", "evenly", "late"
REGAINED = (AT_ONCE, EVENLY, LATE)
"""The ways in which lost seconds are run back, each out of the same spare metres."""


def even_share(
    lost_s: float, spare: float, left_level_m: float, critical: float, pace: float, dearer: float
) -> float:
    """Which share above `pace`, kept up to the finish, runs the lost seconds back, or as many as can be?

    Run at pace (1 + s), L level metres take L / pace x q seconds less, q = s / (1 + s), and cost
    L q (critical / pace + dearer) metres of the reserve more. So q is the least of lost pace / L and
    spare / (L (critical / pace + dearer)): t seconds cost (critical + dearer pace) t, about 1.1 pace t.
    lost_s: still to be run back; spare: metres beyond what the plan will take; dearer: share by which
    metres above the pace cost more (`energy.dearer_share`). Endless where the finish is too near for it.
    Source: arithmetic of critical speed and reserve. Check: tests/unit/tactics/test_regain.py.
    """
    if lost_s <= 0.0 or spare <= 0.0:
        return 0.0
    cost = critical / pace + dearer
    q = min(lost_s * pace, spare / cost) / max(left_level_m, 1e-9)
    return q / (1.0 - q) if q < 1.0 else float("inf")


def regain_share(way: str, even: float, most: float, begun: bool) -> float:
    """The share above the plan with which this way runs lost seconds back now; at most `most`.

    at once: as hard as it may be until nothing is owed or spare; evenly: the even share; late: nothing
    until only the hardest running still spends it by the finish, from there on (`begun`) as at once.
    Source: assumption (`racing.chase_share` 0.02 to 0.06). Check: tests/unit/tactics/test_regain.py.
    """
    if even <= 0.0:
        return 0.0
    if way == EVENLY:
        return min(even, most)
    return most if way == AT_ONCE or begun or even >= most else 0.0
