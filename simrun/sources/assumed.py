"""Which figures that nobody has measured decide a race, and may be told, narrowed or drawn for it?"""

from __future__ import annotations

from functools import cache

from simrun.sources.library import figures
from simrun.sources.records import Figure

BODY, INSIDE, PULL = "runner.body_radius_m", "line.inside_share", "line.pull"
"""What the people are and how they choose; the others are settings of the laws."""

DECIDES = (
    *("runner.following_time_s", "runner.standstill_gap_m", "runner.start_constant_s"),
    *("runner.comfortable_braking_m_s2", "runner.sway_m", "runner.sway_per_speed_s"),
    *("runner.sideways_limit_m_s2", "runner.acceleration_limit_m_s2"),
    *("runner.braking_limit_m_s2", "runner.edge_share", "runner.restart_reaction_s"),
    *("gap.track_width_m", "gap.look_s", "gap.price_per_m", "gap.keep_bonus_m_s"),
    *("anticipate.cap_m_s2", "contact.friction", "bend.rounding_room_m"),
    *("bend.rounding_least_m", "aim.ahead_s", "aim.least_m", "set_off.wait_per_m_s"),
    *("look.interval_s", "steer.time_s", BODY, INSIDE, PULL),
    *("line.shift_over_s", "line.shift_back_s"),
    *("pack.gap_m", "pack.held_up_share", "pack.own_pace_share"),
)
"""Add new ones at the end: the place in this list is part of every race with drawn inputs.

Whole numbers (tracks, sweeps) and the clock's step are left out: they are means of computing.
"""


@cache
def assumed_inputs() -> dict[str, Figure]:
    """The assumed figures that decide a race, by key, in the order of `DECIDES`.

    Check: tests/unit/sources/test_assumed.py.
    """
    known = {figure.key: figure for figure in figures()}
    return {key: known[key] for key in DECIDES if known[key].kind == "assumed"}
