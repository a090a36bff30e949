"""What is true at one moment? The arrays the kernel works on.

One record a body and one record a cut: a kernel reads `bodies[i].speed` as it would an object's field,
a runner's numbers lie side by side in memory, and functions pass one array instead of forty.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Records = NDArray[np.void]

BODY = np.dtype(
    [(name, np.float64) for name in ["x", "y", "speed", "heading_x", "heading_y", "radius_m"]]
    + [(name, np.float64) for name in ["cruise_m_s", "opening", "opening_m", "settle_m"]]
    + [(name, np.float64) for name in ["sit_m", "move_m", "kick_m", "finish_m"]]
    + [(name, np.float64) for name in ["critical_m_s", "full_m", "reserve_m", "saved_share"]]
    + [
        (name, np.float64)
        for name in ["wait_s", "aim_x", "aim_y", "kept_m", "wished_m_s", "along", "aside"]
    ]
    + [(name, np.float64) for name in ["from_x", "from_y", "face_x", "face_y"]]
    + [(name, np.float64) for name in ["room_m", "look_phase", "shift_m"]]
    + [(name, np.float64) for name in ["drawn", "seek_m", "first_place", "last_place"]]
    + [(name, np.float64) for name in ["course_share", "fresh_m_s", "empty_s", "race_share"]]
    + [(name, np.float64) for name in ["gap_m", "cover_m_s", "tuck_m_s"]]
    + [
        (name, np.int64)
        for name in [
            "cell",
            "from_cell",
            "fixed",
            "gone",
            "off",
            "bucket",
            "push_x",
            "push_y",
            "races",
            "place",
            "in_reach",
        ]
    ],
    align=True,
)
"""One body. Runners come first, then the fixed bodies of obstacles (fixed = 1).

x, y: centre; speed along the unit vector heading_x, heading_y. cruise_m_s, opening, opening_m,
settle_m, sit_m, move_m, kick_m: the pace plan; finish_m: where the finish is. critical_m_s, full_m,
reserve_m: critical speed, reserve of a fresh runner and what is left of it; saved_share: of the effort, in
somebody's wake. wait_s: until free to move. aim_x, aim_y: the point headed for. kept_m: sideways
way still to go to the chosen track. room_m: for swinging out round a post. shift_m: how far to
the right their own line has been shifted.
wished_m_s: speed wanted with nobody near. along, aside: accelerations of this step;
face_x, face_y: the heading they start from. from_x, from_y, from_cell: where the
step began. cell: of the strip. off: has set off. look_phase: where in every look-up interval it
looks up, from 0 to 1. gone: past the end.
bucket: place in the cell list. push_x, push_y: pushes of this step, in grains.

races: NO_RACING, PLAN_ONLY, RACES or REPLAYS. drawn: towards the front's pace; seek_m: from where on a place
is wanted, first_place, last_place: which; place, in_reach: the place now, and how many are within a kick of
it; course_share: pace share of the whole course; fresh_m_s: critical speed before tiring, empty_s: for how
long empty; race_share: raced over planned wish; gap_m: free track ahead; cover_m_s, tuck_m_s: the fastest
who is to be covered, and the one to tuck in behind (0: nobody).
"""

NO_RACING, PLAN_ONLY, RACES, REPLAYS = 0, 1, 2, 3
"""How a body races: not at all (plan and nothing else); by its plan, drawn by the front and tiring; for
places as well; or as noted in another run."""

RACED_BIN_M = 50.0
"""Over so many metres the mean ratio of raced to planned wish is noted."""

RANK_BIN_M = 2.0
"""Places on the way are told apart by so many metres."""

FRONT_STEP_M = 10.0
"""The front's pace is known every so many metres."""

CUT = np.dtype(
    [(name, np.float64) for name in ["left_x", "left_y", "right_x", "right_y", "unit_x", "unit_y"]]
    + [
        (name, np.float64)
        for name in [
            "width_m",
            "middle_x",
            "middle_y",
            "station_m",
            "pace_share",
            "headwind_m_s",
        ]
    ]
    + [(name, np.float64) for name in ["left_reach_m", "right_reach_m"]]
    + [(name, np.float64) for name in ["bend_radius_m", "bend_half_cosine"]]
    + [(name, np.int64) for name in ["left_barrier", "right_barrier", "bend_side"]]
    + [(name, np.int64) for name in ["next_bend", "checkpoint"]],
    align=True,
)
"""One cut and the cell after it (of the last cut's cell nothing is read).

Of the cell: pace_share (footing, slope and wind), headwind_m_s; left_barrier, right_barrier: 1 where a body
is stopped; left_reach_m, right_reach_m: by how much a centre may pass the edge. Of the cut: bend_side,
bend_radius_m as in Strip, bend_half_cosine: of half its angle; next_bend: the next cut at which a
bend begins or changes, K where there is none; checkpoint: index or -1.
"""

NEAR_ROOM = 256
"""Room for the neighbours of one runner: more bodies than fit into the look at 6 per square metre."""

NEAR = np.dtype(
    [
        (name, np.float64)
        for name in ["ahead", "aside", "speed_ahead", "speed_aside", "bodies_m", "further", "stays"]
    ],
    align=True,
)
"""One neighbour as a runner sees it: place and speed along and to the right of the way to the aim;
both half widths added; how much further along the course it is (fixed bodies always are); 1 where it stays
where it is: fixed, or stopped after having set off."""


SEEN = np.dtype(
    [(name, np.float64) for name in ["x", "y", "vx", "vy", "radius_m", "station_m"]]
    + [(name, np.int32) for name in ["index", "row", "cell"]]
    + [(name, np.int16) for name in ["fixed", "stays"]],
    align=True,
)
"""One body as others see it in this step, 64 bytes, a line of the processor's store: place, velocity,
half width, how far along the course its cell begins; its number; its row of the cell list; its cell; whether
it is fixed, and whether it stays where it is (fixed, or stopped after having set off)."""

ROW_SQUARES = 10
"""Squares of the cell list that one look can take in side by side: twice 6 m over 1.5 m and both ends."""


class Ways(NamedTuple):
    """What each runner was given for the race: wander (N, M), margins at every cut (N, K) twice,
    and over how much of it a line may be shifted (K,); and what
    everybody sees to be run around: corners (V, 2), where those of each thing begin (O + 1,), and whether it
    can be passed on the left and on the right (O, 2). front_m_s (F,): the level pace of the front, one a
    FRONT_STEP_M; raced (N, B): the ratio of raced to planned wish to replay, one a RACED_BIN_M. own: the
    hooks of a behaviour of one's own (`tactics.own.hooks`), None without one."""

    wander: Array
    margin_left: Array
    margin_right: Array
    gives_m: Array
    hull_m: Array
    hull_begins: Whole
    hull_open: Whole
    front_m_s: Array
    raced: Array
    own: Any = None


GONE = -(2**15)
"""Stands for the speed of a runner who has left the course, where speeds are whole numbers."""


def metres_a_second(speed_cm_s: NDArray[np.int16]) -> NDArray[np.float32]:
    """Speeds in m/s of speeds in whole centimetres a second, nan for who is gone."""
    speed = speed_cm_s * np.float32(0.01)
    speed[speed_cm_s == GONE] = np.nan
    return speed


class Tape(NamedTuple):
    """What is written down: frames every so many steps (speeds in whole centimetres a second, GONE for who
    has left), crossings (N, C) and what was then left of the reserve (N, C), the largest overlap (1,); of a
    race for places the sum of raced over planned wish and how often it was looked at (N, B)."""

    position: NDArray[np.float32]
    speed_cm_s: NDArray[np.int16]
    wished_cm_s: NDArray[np.int16]
    crossing_s: Array
    reserve_m: Array
    overlap: Array
    raced_sum: Array
    raced_times: Array


class Scratch(NamedTuple):
    """Working room, made once a race: the cell list, close pairs, the neighbours of one runner, and how
    many are how far along (for places)."""

    begins: Whole
    seen: Any
    hits: Whole
    pairs: Whole
    near: Any
    worth: Array
    ranks: Whole
