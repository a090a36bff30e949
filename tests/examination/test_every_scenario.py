"""One set of physical checks on every shipped scenario."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from simrun.base.compiled import compiled
from simrun.course.strip import EdgeKind
from simrun.engine.kernel.locate import across_m
from simrun.engine.run import Race
from simrun.runners.reaction import shortest_reaction_s
from simrun.scenario.reader import read
from simrun.sources import figure
from simrun.state.arrays import metres_a_second
from tests.helpers.worlds import field_race

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
HUMAN_LIMIT_M_S = 9.0
CASES = [pytest.param((file, 1), id=f"{file.stem}-1") for file in SHIPPED]
CASES += [pytest.param((file, 2), id=f"{file.stem}-2", marks=pytest.mark.slow) for file in SHIPPED]


@pytest.fixture(scope="module", params=CASES)
def race(request: pytest.FixtureRequest) -> Race:
    file, seed = request.param
    return field_race(read(file), seed)


def test_everybody_is_somewhere_until_the_end(race: Race) -> None:
    """Positions are numbers until a runner has left the run-out, and never come back."""
    kept = race.steps_done // race.frame_every
    position = race.tape.position[:kept, :, 0]
    gone = np.isnan(position)
    assert not gone[0].any()
    assert (np.diff(gone.astype(int), axis=0) >= 0).all()
    crossed = np.isfinite(race.tape.crossing_s[:, -1])
    assert crossed[gone[-1]].all(), "somebody left before the last checkpoint"


def test_everybody_arrives_in_order(race: Race) -> None:
    """The clock ends, all arrive, and checkpoints are crossed one after the other."""
    assert race.is_over
    assert np.isfinite(race.tape.crossing_s).all()
    assert (np.diff(race.tape.crossing_s, axis=1) > 0).all()


def test_nobody_leaves_the_course(race: Race) -> None:
    """Stepped again: at every half second no centre is beyond paint, no body in a barrier."""
    again = Race(
        race.scenario,
        race.roster,
        np.stack([race.tape.position[0, :, 0], race.tape.position[0, :, 1]], axis=1).astype(float),
        (race.ways.margin_left, race.ways.margin_right),
        frames=False,
    )
    strip, worst = race.scenario.strip, 0.0
    aside, half = np.zeros(len(race.roster)), np.zeros(len(race.roster))
    edges = [
        (kinds == EdgeKind.BARRIER, 1.0 * (kinds == EdgeKind.OPEN))
        for kinds in (strip.left_edge, strip.right_edge)
    ]
    while not again.is_over and again.t_s < 200:
        again.advance(10)
        here = again.runners
        note_asides(here, race.ground, aside, half)
        for side, (barrier, reach_m) in zip((-aside, aside), edges, strict=True):
            at = here["cell"]
            allowed = np.where(barrier[at], half - here["radius_m"], half + reach_m[at])
            worst = max(worst, float((side - np.maximum(allowed, 0.0)).max()))
    assert worst < 1e-3, f"{worst:.4f} m over an edge"


@compiled
def note_asides(bodies: Any, cuts: Any, aside: Any, half: Any) -> None:
    """How far right of the middle of the course is everybody, and how far is it to an edge? (N,) each."""
    for i in range(len(bodies)):
        _, aside[i], half[i], _, _ = across_m(cuts, bodies[i].cell, bodies[i].x, bodies[i].y)


def test_bodies_do_not_overlap(race: Race) -> None:
    """At the end of no step by more than 5 % of a body's width."""
    assert race.tape.overlap[0] < 0.05


def test_speeds_are_human(race: Race) -> None:
    """Nobody is faster than the own plan allows (opening, move, kick), nor than 9 m/s."""
    fastest = np.nanmax(metres_a_second(race.tape.speed_cm_s), axis=0)
    kick = np.where(np.isfinite(race.roster.kick_m), figure("pace.kick_most_share").value, 0.0)
    move = np.where(np.isfinite(race.roster.move_m), figure("pace.move_share").value, 0.0)
    own = race.roster.cruise_m_s * (1 + np.maximum(race.roster.opening, np.maximum(kick, move)))
    wander = race.roster.wander.max(axis=1)
    downhill = 1.10
    assert (fastest <= own * wander * downhill + 0.3).all()
    assert fastest.max() < HUMAN_LIMIT_M_S


def test_the_reserve_is_spent_and_never_overdrawn(race: Race) -> None:
    """Between 0 and what a fresh runner has at every checkpoint; a metre short is let pass, that of a
    wander of the pace at the very end."""
    left = race.tape.reserve_m
    assert (left > -1.0).all()
    assert (left <= race.roster.reserve_m[:, None]).all()
    assert (left[:, -1] < race.roster.reserve_m).all()


def test_nobody_jumps(race: Race) -> None:
    """From frame to frame nobody moves further than the fastest could run, and a body's push."""
    kept = race.steps_done // race.frame_every
    moved = np.hypot(*np.moveaxis(np.diff(race.tape.position[:kept], axis=0), 2, 0))
    assert np.nanmax(moved) < HUMAN_LIMIT_M_S * race.scenario.clock.frame_s + 0.25


def test_nobody_moves_before_the_gun_is_heard(race: Race) -> None:
    """Everybody stands until the shortest reaction has passed; further rows wait for room."""
    body = race.scenario.field.body
    until = int(shortest_reaction_s(body) / race.scenario.clock.frame_s) + 1
    assert (race.tape.speed_cm_s[:until] == 0).all()
    moving = (race.tape.speed_cm_s > 20).argmax(axis=0)
    front, behind = race.roster.row == 1, race.roster.row == 2
    if behind.any():
        assert moving[behind].mean() > moving[front].mean()
