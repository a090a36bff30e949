"""Which gap does a runner steer for?

Tracks one step apart, from some to the left to as many to the right. Each promises a speed; sideways
has a price, and the present choice a small bonus against dithering. Ties go to neither side: the
runner stays, so a mirrored race is mirrored to the last bit.
"""

from __future__ import annotations

from typing import Any

from simrun.base.compiled import compiled


@compiled
def promised_speed_m_s(speed_ahead: float, gap_m: float, kept_gap_m: float, look_s: float) -> float:
    """The speed that a track with this body in it promises: its speed plus what the gap leaves to use up.

    kept_gap_m is the gap a follower keeps at its own speed: who follows at that gap is promised the
    leader's speed and no more, and so looks for a way past. Check: tests/unit/tactics/test_gap.py.
    """
    return max(0.0, speed_ahead + (gap_m - kept_gap_m) / look_s)


@compiled
def worth_m_s(
    promise: float,
    offset_m: float,
    kept_m: float,
    track_width_m: float,
    price_per_s: float,
    keep_bonus_m_s: float,
) -> float:
    """What a track is worth: the promise less the price of going sideways, plus the bonus for keeping."""
    bonus = max(0.0, 1.0 - abs(offset_m - kept_m) / track_width_m) * keep_bonus_m_s
    return promise - price_per_s * abs(offset_m) + bonus


@compiled
def best_track(worth: Any, tracks_a_side: int) -> int:
    """Which track is worth most? From -tracks_a_side (left) to tracks_a_side; worth (2 * a_side + 1,)."""
    best, best_worth = 0, worth[tracks_a_side]
    for step in range(1, tracks_a_side + 1):
        left, right = worth[tracks_a_side - step], worth[tracks_a_side + step]
        if left > best_worth and left > right:
            best, best_worth = -step, left
        elif right > best_worth and right > left:
            best, best_worth = step, right
    return best
