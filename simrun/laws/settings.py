"""Which numbers do the laws use? All of them, by name, each out of `sources`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from simrun.sources import figure


class Settings(NamedTuple):
    """The numbers of one kind of crowd. Units in the names; a plain tuple, so a kernel can hold it."""

    following_time_s: float
    standstill_gap_m: float
    pack_gap_m: float
    held_up_share: float
    own_pace_share: float
    start_constant_s: float
    comfortable_braking_m_s2: float
    sway_m: float
    sway_per_speed_s: float
    sideways_limit_m_s2: float
    acceleration_limit_m_s2: float
    braking_limit_m_s2: float
    edge_share: float
    restart_reaction_s: float
    set_off_wait_per_m_s: float
    set_off_look_m: float
    look_interval_s: float
    track_width_m: float
    tracks_a_side: int
    gap_look_s: float
    gap_price_per_s: float
    gap_keep_bonus_m_s: float
    anticipate_strength: float
    anticipate_horizon_s: float
    anticipate_cap_m_s2: float
    contact_friction: float
    contact_sweeps: int
    bend_cost: float
    bend_rounding_room_m: float
    bend_rounding_least_m: float
    bend_beside_behind_m: float
    bend_beside_ahead_m: float
    aim_ahead_s: float
    aim_least_m: float
    steer_time_s: float
    shift_over_s: float
    shift_back_s: float
    gravity_m_s2: float
    wander_step_m: float
    sit_share: float
    move_share: float
    kick_most_share: float
    acceleration_cost_share: float
    dearer_share: float
    recovery_rate: float
    ease_s: float
    air_share: float
    air_speed_m_s: float
    wake_shielded_share: float
    wake_whole_to_m: float
    wake_ends_at_m: float
    drawn_whole_to_m: float
    drawn_ends_at_m: float
    chase_share: float
    chase_slack_places: float
    chase_whole_places: float
    chase_room_m: float
    floor_m: float
    floor_ease_m: float
    cover_share: float
    cover_within_m: float
    tuck_share: float
    tuck_within_m: float
    hold_back_share: float
    kick_for_m: float
    kick_reach_share: float
    kick_reach_m: float
    empty_below_m: float
    fade_share: float
    fade_over_s: float


_OWN = [
    "following_time_s",
    "standstill_gap_m",
    "start_constant_s",
    "comfortable_braking_m_s2",
    "sway_m",
    "sway_per_speed_s",
    "sideways_limit_m_s2",
    "acceleration_limit_m_s2",
    "braking_limit_m_s2",
    "edge_share",
    "restart_reaction_s",
]

_COMMON = {
    "pack_gap_m": "pack.gap_m",
    "held_up_share": "pack.held_up_share",
    "own_pace_share": "pack.own_pace_share",
    "set_off_wait_per_m_s": "set_off.wait_per_m_s",
    "set_off_look_m": "set_off.look_m",
    "look_interval_s": "look.interval_s",
    "track_width_m": "gap.track_width_m",
    "gap_look_s": "gap.look_s",
    "gap_price_per_s": "gap.price_per_m",
    "gap_keep_bonus_m_s": "gap.keep_bonus_m_s",
    "anticipate_strength": "anticipate.strength",
    "anticipate_horizon_s": "anticipate.horizon_s",
    "anticipate_cap_m_s2": "anticipate.cap_m_s2",
    "contact_friction": "contact.friction",
    "bend_cost": "bend.cost",
    "bend_rounding_room_m": "bend.rounding_room_m",
    "bend_rounding_least_m": "bend.rounding_least_m",
    "bend_beside_behind_m": "bend.beside_behind_m",
    "bend_beside_ahead_m": "bend.beside_ahead_m",
    "aim_ahead_s": "aim.ahead_s",
    "aim_least_m": "aim.least_m",
    "steer_time_s": "steer.time_s",
    "shift_over_s": "line.shift_over_s",
    "shift_back_s": "line.shift_back_s",
    "gravity_m_s2": "gravity_m_s2",
    "wander_step_m": "people.wander_step_m",
    "sit_share": "pace.sit_share",
    "move_share": "pace.move_share",
    "kick_most_share": "pace.kick_most_share",
    "acceleration_cost_share": "energy.acceleration_cost_share",
    "dearer_share": "energy.dearer_share",
    "recovery_rate": "energy.recovery_rate",
    "ease_s": "energy.ease_s",
    "air_share": "wake.air_share",
    "air_speed_m_s": "wake.air_speed_m_s",
    "wake_shielded_share": "wake.shielded_share",
    "wake_whole_to_m": "wake.whole_to_m",
    "wake_ends_at_m": "wake.ends_at_m",
    "fade_share": "energy.fade_share",
    "fade_over_s": "energy.fade_over_s",
    "empty_below_m": "energy.empty_below_m",
}

_RACING = (
    *("drawn_whole_to_m", "drawn_ends_at_m", "chase_share", "chase_slack_places"),
    *("chase_whole_places", "chase_room_m", "floor_m", "floor_ease_m", "cover_share"),
    *("cover_within_m", "tuck_share", "tuck_within_m", "hold_back_share", "kick_for_m"),
    *("kick_reach_share", "kick_reach_m"),
)
"""How runners race: figures `racing.*`."""


def settings_of(crowd: str = "runner", told: Mapping[str, float] | None = None) -> Settings:
    """The settings of `runner` or `walker` (walkers serve the checks against walking data only).

    told: values of figures, by key, in place of their own; keys that are no setting are not minded.
    """
    said = told or {}

    def value(key: str) -> float:
        return float(said.get(key, figure(key).value))

    own = {name: value(f"{crowd}.{name}") for name in _OWN}
    common = {name: value(key) for name, key in _COMMON.items()}
    common |= {name: value(f"racing.{name}") for name in _RACING}
    tracks = int(figure("gap.tracks").value) // 2
    sweeps = int(figure("contact.sweeps").value)
    return Settings(**own, **common, tracks_a_side=tracks, contact_sweeps=sweeps)
