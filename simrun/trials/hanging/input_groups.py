"""Which inputs belong together? A few groups that somebody can picture, each moved as one."""

from __future__ import annotations

from simrun.sources.assumed import BODY, DECIDES, INSIDE, PULL

_NAMED = {
    "room": ("runner.sway_m", "runner.sway_per_speed_s"),
    "following": (
        *("runner.following_time_s", "runner.standstill_gap_m", "pack.gap_m"),
        *("pack.held_up_share", "pack.own_pace_share"),
    ),
    "inside": (INSIDE,),
    "heading": (PULL, "line.shift_over_s", "line.shift_back_s"),
    "bodies": (BODY, "runner.edge_share"),
    "setting off": (
        *("runner.start_constant_s", "runner.acceleration_limit_m_s2"),
        *("runner.restart_reaction_s", "set_off.wait_per_m_s"),
    ),
    "gaps": (
        *("gap.track_width_m", "gap.look_s", "gap.price_per_m", "gap.keep_bonus_m_s"),
        "look.interval_s",
    ),
}

REST = "rest"

GROUPS = {
    **_NAMED,
    REST: tuple(key for key in DECIDES if not any(key in keys for keys in _NAMED.values())),
}
"""Every input that decides a race, in one group each. A group's effect is that of all its inputs at once."""
