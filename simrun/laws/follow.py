"""How hard does a runner brake behind another, and when is somebody in the way?"""

from __future__ import annotations

import math

from simrun.base.compiled import compiled

LEAST_M_S = 0.1
"""Slower than this nobody runs; nothing is divided by less."""


@compiled
def kept_time_s(
    speed: float,
    other: float,
    wished: float,
    following_time_s: float,
    pack_gap_m: float,
    held_up_share: float,
    own_pace_share: float,
) -> float:
    """The time gap that a runner at `speed`, who wishes for `wished`, keeps to somebody who runs at `other`.

    T behind who holds them up, below `held_up_share` of the wish; behind who runs at their own pace, from
    `own_pace_share` on, no more than the gap of a pack, min(T, G / v); evenly less between. With T for all a
    pack is pulled apart: whoever comes in from the side makes the one behind brake, though nobody is slower.
    Range: 0 to T. Source: gaps of a pack at 5.8 m/s, Beaumont et al. 2020, J. Biomech. (told by others); the
    shares are an assumption of our own. That following laws brake too hard for who comes in is known of cars
    (Kesting, Treiber and Helbing 2010, Phil. Trans. R. Soc. A 368:4585; abstract seen).
    Check: tests/unit/laws/test_laws.py, tests/theory/test_single_file.py,
    tests/validation/test_free_section.py.
    """
    part = (other / max(wished, LEAST_M_S) - held_up_share) / (own_pace_share - held_up_share)
    pack_s = min(following_time_s, pack_gap_m / max(speed, LEAST_M_S))
    return following_time_s + min(1.0, max(0.0, part)) * (pack_s - following_time_s)


@compiled
def wished_gap_m(
    speed: float,
    closing: float,
    standstill_gap_m: float,
    following_time_s: float,
    geometric_braking: float,
) -> float:
    """The gap a runner wants at `speed` while closing in at `closing` m/s.

    s* = s0 + max(0, T v + v dv / (2 sqrt(a b))); `geometric_braking` is sqrt(a b). Behind somebody half
    to the side T is the share of it that `in_the_way` leaves.
    """
    return standstill_gap_m + max(
        0.0, following_time_s * speed + speed * closing / (2.0 * geometric_braking)
    )


@compiled
def following_acceleration_m_s2(gap_m: float, wished_gap: float, acceleration_m_s2: float) -> float:
    """The most a follower accelerates: a [1 - (s*/s)^2], s the free gap between the bodies.

    Source: Treiber, Hennecke and Helbing 2000, without its free-road term; used in two dimensions as
    in Treiber and Chaudhari 2023, arXiv 2310.16816. Check: tests/unit/laws/test_laws.py,
    tests/theory/test_single_file.py.
    """
    ratio = wished_gap / max(gap_m, 0.01)
    return acceleration_m_s2 * (1.0 - ratio * ratio)


@compiled
def in_the_way(aside_m: float, bodies_m: float, sway_m: float, edge_share: float) -> float:
    """How much is a body `aside_m` to the side in the way? 1 in front, 0 clear, a soft edge between.

    bodies_m: half widths added. Fully in the way within `edge_share` of that, clear beyond it plus the
    sway: w = (clear - |y|) / (clear - full). Range: 0 to 1. Check: tests/unit/laws/test_laws.py.
    """
    full = edge_share * bodies_m
    clear = bodies_m + sway_m
    return min(1.0, max(0.0, (clear - abs(aside_m)) / (clear - full)))


@compiled
def sway_margin_m(speed: float, sway_m: float, sway_per_speed_s: float) -> float:
    """How much room beyond the body does running at `speed` take sideways?"""
    return sway_m + sway_per_speed_s * speed


@compiled
def free_gap_m(ahead_m: float, aside_m: float, bodies_m: float, weight: float) -> float:
    """Which gap does a runner see to a body `ahead_m` on and `aside_m` to the side?

    The distance along the way until two discs touch, x - sqrt(b^2 - y^2), and (1 - w) b more for who is only
    partly in the way: room beside is room. Without it bodies beside are followed as if they were ahead,
    and a corridor passes too few (tests/validation/test_crowd_flow.py). At least 0.01 m.
    Check: tests/unit/laws/test_laws.py.
    """
    beside = min(abs(aside_m), bodies_m)
    touching = math.sqrt(bodies_m * bodies_m - beside * beside)
    return max(0.01, ahead_m - touching + (1.0 - weight) * bodies_m)
