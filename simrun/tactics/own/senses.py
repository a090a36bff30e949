"""What may a behaviour of one's own ask for, and what may it answer?

A function names, as its arguments, whichever of these it wants to know. All are plain numbers, the same for a
compiled race and for a call by hand.
"""

from __future__ import annotations

NOBODY_M = 1e9
"""How far ahead the nearest is where nobody is seen."""

SENSES: dict[str, str] = {
    "wished_m_s": "the speed that would be run here with nobody near: plan, ground, bends, racing",
    "speed_m_s": "how fast they are now",
    "station_m": "metres along the measured line",
    "to_go_m": "metres to the finish",
    "t_s": "seconds since the gun",
    "reserve_m": "what is left of the metres that can be run above the critical speed",
    "width_m": "how wide the course is here",
    "ahead_m": "free metres to the nearest ahead in their own track; 1e9 where nobody is seen",
    "ahead_m_s": "how fast that one comes along; 0 where nobody is seen",
    "ahead_count": "how many are seen ahead, within 6 m",
    "room_left_m": "free metres on the left: to whoever is beside, or to the edge",
    "room_right_m": "the same on the right",
    "offset_m": "only for `side`: the track that would be chosen, metres to the right of straight on",
}
"""What a runner knows, by the name of the argument, in the order in which the kernel tells it."""

ONLY_SIDE = ("offset_m",)

WISH, SIDE = 0, 1
"""Which of the two questions."""

MOST_M_S = 15.0
"""Nobody may wish to run faster than this: faster than any sprinter."""
