"""What is every input that nobody has measured, as a coach would say it?"""

from __future__ import annotations

INPUT_WORDS = {
    "runner.following_time_s": "how far behind they follow, in time",
    "runner.standstill_gap_m": "how close they stand",
    "runner.start_constant_s": "how slowly they gather speed",
    "runner.comfortable_braking_m_s2": "how hard they brake without minding",
    "runner.sway_m": "their room to the side, standing",
    "runner.sway_per_speed_s": "their room to the side, more for every m/s",
    "runner.sideways_limit_m_s2": "how hard they can swerve",
    "runner.acceleration_limit_m_s2": "how hard they can speed up",
    "runner.braking_limit_m_s2": "how hard they can brake",
    "runner.edge_share": "how far they must overlap to be in the way",
    "runner.restart_reaction_s": "how late they set off after the one ahead",
    "gap.track_width_m": "how far aside they look for the next track",
    "gap.look_s": "how far ahead they judge a gap",
    "gap.price_per_m": "how little they like to move aside",
    "gap.keep_bonus_m_s": "how much they like to stay in their track",
    "anticipate.cap_m_s2": "how hard they swerve ahead of a meeting",
    "contact.friction": "how much bodies rub",
    "bend.rounding_room_m": "how wide they round a corner",
    "bend.rounding_least_m": "how wide they round it with somebody outside",
    "aim.ahead_s": "how far ahead they aim",
    "aim.least_m": "how near they aim at least",
    "set_off.wait_per_m_s": "how much longer they wait for every metre of room",
    "look.interval_s": "how often they look up",
    "steer.time_s": "how long they take to turn",
    "runner.body_radius_m": "half of how wide they are",
    "line.inside_share": "how many take the inside",
    "line.pull": "how straight they head for a narrowing",
    "line.shift_over_s": "how fast they move over",
    "line.shift_back_s": "how slowly they move back",
    "pack.gap_m": "how close they run in a pack",
    "pack.held_up_share": "how slow somebody ahead must be to hold them up",
    "pack.own_pace_share": "how fast somebody ahead must be to be run with",
}
"""By the keys of `sources.assumed`; inside a sentence, before "is"."""
