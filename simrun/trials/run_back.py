"""Of t seconds lost at the start, how many are run back? Measured over races, not reckoned.

The same race is run with nobody late and with a few late by t at the gun, who are told nothing of it: with
those who chase, and with everybody holding the plan. Beside one another they say what chasing brings.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.engine.field import settings_for
from simrun.engine.run import field_of, recording_of
from simrun.laws.settings import Settings
from simrun.measure.account import passed_at
from simrun.measure.finish import start_mark
from simrun.measure.loss import places
from simrun.scenario.changes.changes_people import with_racing
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

LATE_EVERY = 12
"""One runner in so many is late, spread over the abilities: few enough not to make a race of their own."""


def nobody_chases(settings: Settings) -> Settings:
    """The settings with which everybody holds the plan: no chase, no covering, no kick for places."""
    return settings._replace(chase_share=0.0, cover_share=0.0, kick_for_m=0.0)


def late_ones(cruise_m_s: Array, every: int = LATE_EVERY) -> NDArray[np.int64]:
    """Who is late? One in `every` by ability, beginning half so far down."""
    return np.argsort(-cruise_m_s, kind="stable")[every // 2 :: every]


def run_back(
    day: Scenario,
    seeds: Iterable[int],
    delays_s: Sequence[float] = (5.0, 10.0, 20.0),
    in_hand_m: Sequence[float] = (10.0, 30.0),
) -> pandas.DataFrame:
    """A row a seed, delay, metres in hand and way: late by how much at the start mark and at the finish?

    way: "chase" or "plan". start_s, finish_s: mean seconds by which those who were late are later than they
    themselves without the delay, in the same race otherwise; start_places, finish_places: the same in places.
    runners: how many of them finished in both. A pair is paired: same people, same reactions.
    Check: tests/validation/test_racing.py.
    """
    import pandas as pd

    rows = []
    for seed in seeds:
        settings = settings_for(day, seed)
        ways = {"chase": settings, "plan": nobody_chases(settings)}
        for hand in in_hand_m:
            for way, how in ways.items():
                told = with_racing(day, hand)
                base, late = _crossings(told, seed, how, 0.0)
                for delay in delays_s:
                    other, _ = _crossings(told, seed, how, delay)
                    row = {"seed": seed, "in_hand_m": hand, "way": way, "delay_s": delay}
                    rows.append(row | _later(told, base, other, late))
    return pd.DataFrame(rows)


def _crossings(
    day: Scenario, seed: int, settings: Settings, delay_s: float
) -> tuple[Array, NDArray[np.int64]]:
    """When did everybody cross every mark, and who was late? The delay is in nobody's plan."""
    race = field_of(day, seed, frames=False, settings=settings)
    late = late_ones(race.roster.cruise_m_s)
    race.runners["wait_s"][late] += delay_s
    return race.run().tape.crossing_s, late


def _later(day: Scenario, base: Array, other: Array, late: NDArray[np.int64]) -> dict[str, float]:
    begin = start_mark(day.strip)
    there = late[np.isfinite(base[late, -1]) & np.isfinite(other[late, -1])]
    before, after = places(base), places(other)
    found: dict[str, float] = {"runners": float(len(there))}
    for name, mark in (("start", begin), ("finish", -1)):
        found[f"{name}_s"] = float((other - base)[there, mark].mean())
        found[f"{name}_places"] = float((after - before)[there, mark].mean())
    return found


def won_from(recording: Recording, to_go_m: float) -> Array:
    """How many places did everybody win from so far before the last mark to the mark itself? (N,)

    Below nothing: lost. nan for who did not get there. Needs a recording with frames.
    Check: tests/validation/test_racing.py.
    """
    end_m = recording.strip.checkpoints[-1].station_m
    then = places(passed_at(recording, np.array([max(0.0, end_m - to_go_m)])).field_s)[:, 0]
    won: Array = then - places(recording.crossing_s)[:, -1]
    return won


def front_adds_s(day: Scenario, seed: int) -> Array:
    """How much of everybody's traffic comes of the pull towards the front? Seconds at every mark, (N, C).

    The traffic of the race less that of the same race in which nobody is drawn out, each against its own
    alone-runs. It is no bad luck: it stands beside the four parts, not in them.
    Check: tests/validation/test_racing.py.
    """
    raced = with_racing(day)
    drawn, calm = field_of(raced, seed, frames=False), field_of(raced, seed, frames=False)
    calm.roster = replace(calm.roster, drawn=np.zeros(len(calm.roster)))
    calm.bodies["drawn"] = 0.0
    with_it, without = (recording_of(race.run(), seed) for race in (drawn, calm))
    found: Array = (with_it.crossing_s - with_it.raced_s) - (without.crossing_s - without.raced_s)
    return found
