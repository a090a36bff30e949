"""How fast can a bend be run?"""

from __future__ import annotations

import math

from simrun.base.compiled import compiled

STRAIGHT_RADIUS_M = 1e6


@compiled
def bend_share(speed: float, radius_m: float, cost: float, gravity_m_s2: float) -> float:
    """The share of `speed` that equal effort leaves on a bend of `radius_m`.

    v = v0 [1 - c (sqrt(1 + (v^2 / (g R))^2) - 1)]: the legs carry the body's weight and the sideways
    pull together. Solved by repeating it with the speed found; eight rounds reach 1e-6.
    Source: form and data Taboga and Kram 2019, PeerJ 8222 (seen); c fitted to them.
    Check: tests/validation/test_one_runner.py.
    """
    share = 1.0
    for _ in range(8):
        pull = (share * speed) ** 2 / (gravity_m_s2 * radius_m)
        share = 0.5 * (share + max(0.1, 1.0 - cost * (math.sqrt(1.0 + pull * pull) - 1.0)))
    return share


@compiled
def rounding_radius_m(own_radius_m: float, half_cosine: float, room_m: float) -> float:
    """The radius of the arc on which a bend is really run, `own_radius_m` at its apex.

    A runner swings out by `room_m` c, c = cos(angle/2): R = r + room c / (1 - c). A hairpin leaves
    nothing to round off. `room_m` is assumed, with its range in `sources`.
    """
    if 1.0 - half_cosine < 1e-9:
        return STRAIGHT_RADIUS_M
    return min(STRAIGHT_RADIUS_M, own_radius_m + room_m * half_cosine / (1.0 - half_cosine))


@compiled
def free_beside_m(
    aside_m: float, bodies_m: float, sway_m: float, least: float, most: float
) -> float:
    """The room that a body `aside_m` further out leaves for swinging out round a post.

    What is free between both bodies less the sway, from `least` to `most`: who hugs a post with somebody
    beside turns about the post, who has the corner to itself takes a wide arc. Without it the inner side
    of a crowd is the faster one. Source: an assumption of our own, suggested by Hannun et al. 2022, PLoS ONE
    e0264635 (sign; seen). Check: tests/unit/laws/test_laws.py, tests/validation/test_crowd_corner.py.
    """
    return min(most, max(least, aside_m - bodies_m - sway_m))


@compiled
def rounding_lead_m(half_cosine: float, room_m: float) -> float:
    """How far before the turn itself does that arc begin? room c s / (1 - c), s = sin(angle/2)."""
    if 1.0 - half_cosine < 1e-9:
        return 0.0
    sine = math.sqrt(1.0 - half_cosine * half_cosine)
    return room_m * half_cosine * sine / (1.0 - half_cosine)


@compiled
def bend_speed_m_s(
    wished: float, radius_m: float, sideways_limit_m_s2: float, cost: float, gravity_m_s2: float
) -> float:
    """The speed on a bend: that of equal effort, or what the grip allows, sqrt(a R), if that is less."""
    grip = math.sqrt(sideways_limit_m_s2 * radius_m)
    if radius_m > 200.0:
        return min(wished, grip)
    return min(wished * bend_share(wished, radius_m, cost, gravity_m_s2), grip)


@compiled
def speed_before_bend_m_s(bend_speed: float, distance_m: float, braking_m_s2: float) -> float:
    """How fast may one still run `distance_m` before a bend and brake in comfort? sqrt(v^2 + 2 b d)"""
    return math.sqrt(bend_speed * bend_speed + 2.0 * braking_m_s2 * max(0.0, distance_m))
