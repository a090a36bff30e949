"""Somebody is down for a while: a body on the ground that appears, is run around, and is gone again.

A disturbance that somebody asks about, never a forecast: nothing here says whether anybody falls.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simrun.engine.field import scratch_for
from simrun.engine.run import Race
from simrun.runners.streams import stream
from simrun.sources import figure
from simrun.state.arrays import BODY

NUDGE_M = 0.02
"""So far, along and across, everybody is moved where only chance is to be changed."""


@dataclass(frozen=True)
class Down:
    """Where (metres along the measured line, share of the width from the left), from when, how long."""

    at_m: float
    share: float
    from_s: float
    for_s: float


def run_with(race: Race, down: Down) -> Race:
    """Run a race that has not begun to its end, with somebody down in between.

    The fixed body is out of everybody's sight before and after, so that a race with nobody down is the
    same to the last bit. Check: tests/validation/test_disturbance.py.
    """
    mine = _lay_down(race, down)
    race.advance(round(down.from_s / race.step_s) - race.steps_done)
    race.bodies[mine].gone = 0
    race.advance(round(down.for_s / race.step_s))
    race.bodies[mine].gone = 1
    return race.run()


def run_nudged(race: Race, from_s: float, seed: int) -> Race:
    """Run a race that has not begun to its end, everybody moved by up to NUDGE_M at that moment.

    The placebo of somebody down: nobody is in anybody's way, but a crowd is chaotic, so from there on it is
    another race of the same people, later or sooner by chance. Check: tests/validation/test_disturbance.py.
    """
    race.advance(round(from_s / race.step_s) - race.steps_done)
    running = race.bodies["gone"] == 0
    draws = stream(seed, "nudges")
    for along in ("x", "y"):
        race.bodies[along] += NUDGE_M * draws.uniform(-1.0, 1.0, len(running)) * running
    return race.run()


def _lay_down(race: Race, down: Down) -> int:
    """Add the body, unseen as yet; which one is it?"""
    body = np.zeros(1, dtype=BODY).view(np.recarray)
    body["x"], body["y"] = race.scenario.strip.point_at(down.at_m, down.share)
    body["radius_m"] = figure("down.radius_m").value
    body["heading_x"], body["fixed"], body["gone"] = 1.0, 1, 1
    race.bodies = np.concatenate([race.bodies, body]).view(np.recarray)
    places_to_m = race.scenario.strip.length_m if len(race.scratch.ranks) else 0.0
    race.scratch = scratch_for(len(race.bodies), race.settings, places_to_m)
    return len(race.bodies) - 1
