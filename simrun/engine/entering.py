"""What does everybody who races wish for, so that the plan comes out as it was told?

Race pace out of the seed time, the opening as a split, the pace after it with what is kept in hand, and the
front's pace. Everything is solved for the same people alone, with the wander of the pace left out.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from simrun.engine.tracking import note
from simrun.laws.settings import Settings
from simrun.laws.slope import running_cost_j_kg_m
from simrun.runners.endurance import RACE_M
from simrun.runners.roster import Roster
from simrun.sources import figure
from simrun.state.arrays import FRONT_STEP_M, Records
from simrun.state.tracks import NOT_REACHED

Array = NDArray[np.float64]

LEAST_OPENS, MOST_OPENS = -0.30, 0.40
"""So much slower or faster than race pace anybody may wish to go over the first metres."""

ROUNDS = 4
"""So often the opening is run alone; the last run says what came out."""

GOOD_ENOUGH = 0.001
"""An opening as near as this to what was told is left as it is."""

PAUSE_S = 0.5
LONGEST_S = 3600.0
GRID_M = 10.0
SECANTS = 4
GATHER_STEP_S, GATHER_TAUS = 0.05, 5.0
LEAST_PACE = 0.85
"""Nobody settles slower than this share of race pace to keep something in hand."""


Told = TypeVar("Told")

Stages = Generator[Sequence[Any], None, Told]
"""Something found out in stages: each gives races to be run to their end, together with those of others,
before the next stage. So one text says what is run, whichever engine runs it."""


class Racing(NamedTuple):
    """What a race for places needs beside the roster: the front's level pace, one a FRONT_STEP_M (F,), and
    in a replay the ratio of raced to planned wish (N, B)."""

    front_m_s: Array
    raced: Array | None = None


def told_by(stages: Stages[Told]) -> Told:
    """What comes of stages whose races are run one after the other."""
    while True:
        try:
            races = next(stages)
        except StopIteration as over:
            told: Told = over.value
            return told
        for race in races:
            race.run()


def course_share(ground: Records, length_m: float) -> float:
    """What share of the level pace does the whole course leave at an even effort? length / level metres."""
    level = level_m(ground, np.array([length_m]))
    return float(length_m / level[0])


def level_m(ground: Records, at_m: Array) -> Array:
    """How many level metres are as hard as the course from the line to here? Bends count as straight."""
    station = ground["station_m"]
    share = np.where(ground["pace_share"] > 0.0, ground["pace_share"], 1.0)
    each = np.diff(station) / share[:-1]
    summed = np.concatenate([[0.0], np.cumsum(each)])
    zero = np.interp(0.0, station, summed)
    return np.asarray(np.interp(at_m, station, summed) - zero, dtype=np.float64)


def on_this_ground(roster: Roster, seed_share: float) -> Roster:
    """The same people, whose seed times were run on ground that leaves this share of the level pace.

    cruise = 5000 / time / share, and the race behind the seed time is 5000 / share level metres long.
    """
    count = np.ones(len(roster))
    return replace(
        roster, cruise_m_s=roster.cruise_m_s / seed_share, level_m=count * RACE_M / seed_share
    )


def told_split_s(roster: Roster, ground: Records, length_m: float) -> Array:
    """What was told, as seconds from their own gun to the mark: race pace on this ground / (1 + opening).

    (N,) The mark is where the plan lets the opening end. nan where it is at the line: nothing can be timed.
    """
    mark = np.minimum(roster.opening_m, length_m)
    seconds = level_m(ground, mark) / roster.cruise_m_s / (1.0 + roster.opening)
    return np.where(roster.opening_m > 0.0, seconds, np.nan)


def opening_solved(
    roster: Roster, alone_race: Callable[[Roster], Any], gun_s: Array, settings: Settings
) -> Stages[Roster]:
    """The same people, wishing for what makes the told opening come out as a split.

    Gives the races by which it is found, one after the other. alone_race: everybody of a roster alone in
    their own place and line, about to start. gun_s (N,): when their own gun goes. The first guess is the
    closed form v0 = D / (T - wait - tau); then (1 + wish) is scaled by the moving time found over the moving
    time told, which is the secant through a standing start. Check: tests/validation/test_racing.py.
    """
    plain = replace(roster, wander=np.ones((len(roster), 1)), drawn=np.zeros(len(roster)))
    race = alone_race(plain)
    length_m = race.scenario.strip.length_m
    told = told_split_s(roster, race.ground, length_m)
    mark = np.minimum(roster.opening_m, length_m)
    still = race.runners["wait_s"] - gun_s + settings.start_constant_s
    known = np.isfinite(told)
    with np.errstate(invalid="ignore"):
        wish = level_m(race.ground, mark) / np.maximum(told - still, 1.0) / roster.cruise_m_s
    wish = np.where(known, np.clip(wish, 1.0 + LEAST_OPENS, 1.0 + MOST_OPENS), 1.0 + roster.opening)
    late = np.zeros(len(roster))
    for left in range(ROUNDS, 0, -1):
        race = alone_race(replace(plain, opens_more=wish - 1.0 - roster.opening))
        race.end_at(mark)
        yield [race]
        late = np.where(known, race.marked_s - gun_s - told, 0.0)
        off = known & (np.abs(late) > GOOD_ENOUGH * told)
        if left == 1 or not off.any():
            break
        with np.errstate(invalid="ignore"):
            scaled = wish * (told + late - still) / np.maximum(told - still, 1.0)
        wish = np.where(off, np.clip(scaled, 1.0 + LEAST_OPENS, 1.0 + MOST_OPENS), wish)
    late = np.where(np.isfinite(late), late, LONGEST_S)
    told = np.where(known, told, 0.0)
    return replace(roster, opens_more=wish - 1.0 - roster.opening, told_s=told, late_s=late)


def mark_s(race: Any, mark_m: Array) -> Array:
    """Run a race until everybody has come to their own mark; when did they? (N,), nan where not.

    Races of many are run to their marks together by `engine.batch`, by the same notes.
    """
    at_m, which = np.unique(mark_m, return_inverse=True)
    start = race.station_m()
    reached = np.full((len(start), len(at_m)), NOT_REACHED, dtype=np.int32)
    due, furthest, t_s = np.searchsorted(at_m, start, side="right"), start.copy(), race.t_s
    race.last_step = round(LONGEST_S / race.step_s)
    row = np.arange(len(start))
    stations = race.scenario.strip.station_m
    while (reached[row, which] == NOT_REACHED).any() and not race.runners["gone"].all():
        if race.steps_done >= race.last_step:
            break
        race.advance(max(1, round(PAUSE_S / race.step_s)))
        note(race.bodies, race.ground, stations, at_m, t_s, race.t_s, due, furthest, reached)
        t_s = race.t_s
    found = reached[row, which]
    return np.where(found == NOT_REACHED, np.nan, found / 1000.0)


def with_hand_kept(roster: Roster, ground: Records, length_m: float, settings: Settings) -> Roster:
    """The same people, settling to the pace that leaves at the finish what the plan keeps in hand.

    Of the plan as run: standing start, opening and ground are paid for. Nobody settles faster than race
    pace, so a short race leaves more. The pull of the front is not in the plan. Check:
    tests/validation/test_racing.py.
    """
    spent, run_m = _standing_start(roster, settings)

    def left(share: Array) -> Array:
        return left_at_finish_m(roster, share, spent, run_m, ground, length_m, settings)

    share, slower = np.ones(len(roster)), np.full(len(roster), 0.98)
    whole, less = left(share), left(slower)
    slope = (whole - less) / (share - slower)
    for _ in range(SECANTS):
        share = np.clip(share + (roster.in_hand_m - left(share)) / slope, LEAST_PACE, 1.0)
    wish = 1.0 + roster.opening + roster.opens_more
    return replace(roster, pace_share=share, opens_more=wish / share - 1.0 - roster.opening)


def left_at_finish_m(
    roster: Roster,
    pace_share: Array,
    spent_m: Array,
    run_m: Array,
    ground: Records,
    length_m: float,
    settings: Settings,
) -> Array:
    """What does the plan leave of the reserve at the finish, settled at this share of race pace? (N,)

    spent_m, run_m (N,): what the standing start took, and over how many level metres. Metre by metre at the
    planned level speeds; bends cost nothing. Below nothing: it does not last.
    """
    at = np.arange(0.0, length_m, GRID_M)
    run = np.cumsum(np.diff(level_m(ground, np.append(at, length_m))))
    before = np.concatenate([[0.0], run[:-1]])
    metres = np.clip(run - np.maximum(before, run_m[:, None]), 0.0, None)
    pace = (roster.cruise_m_s * pace_share)[:, None]
    speed = _plan_m_s(roster, at + 0.5 * GRID_M, pace, settings)
    dearer = settings.dearer_share * np.maximum(0.0, speed - pace)
    above = speed - roster.critical_m_s[:, None] + dearer
    return np.asarray(roster.reserve_m - spent_m - (above * metres / speed).sum(axis=1))


def _standing_start(roster: Roster, settings: Settings) -> tuple[Array, Array]:
    """What gathering speed takes of the reserve, and how many level metres that is: (N,), (N,)."""
    steps, dearer = _dearer_uphill()
    fast = roster.cruise_m_s * (1.0 + roster.opening + roster.opens_more)
    tau = settings.start_constant_s
    spent, run_m = np.zeros(len(roster)), np.zeros(len(roster))
    for t_s in np.arange(0.5 * GATHER_STEP_S, GATHER_TAUS * tau, GATHER_STEP_S):
        eased = np.exp(-t_s / tau)
        speed = fast * (1.0 - eased)
        gain = np.minimum(fast * eased / tau, settings.acceleration_limit_m_s2)
        share = np.interp(gain / settings.gravity_m_s2, steps, dearer)
        effort = speed * (1.0 + settings.acceleration_cost_share * share)
        above = settings.dearer_share * np.maximum(0.0, speed - roster.cruise_m_s)
        spent += np.maximum(0.0, effort - roster.critical_m_s + above) * GATHER_STEP_S
        run_m += speed * GATHER_STEP_S
    return spent, run_m


@cache
def _dearer_uphill() -> tuple[Array, Array]:
    """Some slopes, and by what share running up each is dearer than on the level."""
    steps = np.linspace(0.0, 0.45, 91)
    level = running_cost_j_kg_m(0.0)
    return steps, np.array([running_cost_j_kg_m(float(slope)) / level - 1.0 for slope in steps])


def _plan_m_s(roster: Roster, station: Array, pace: Array, settings: Settings) -> Array:
    """The planned level speeds at these places, (N, S): what is kept in hand is there for a told kick."""
    column = {name: getattr(roster, name)[:, None] for name in ("opening_m", "sit_m", "move_m")}
    fast = (roster.cruise_m_s * (1.0 + roster.opening + roster.opens_more))[:, None]
    settle = np.maximum(roster.settle_m, 1e-9)[:, None]
    gone = np.clip((station - column["opening_m"]) / settle, 0.0, 1.0)
    speed = fast + (pace - fast) * gone
    speed = np.where(station >= column["sit_m"], pace * (1.0 - settings.sit_share), speed)
    return np.where(station >= column["move_m"], pace * (1.0 + settings.move_share), speed)


def front_of(roster: Roster, settings: Settings) -> Array:
    """The front's level pace, one a FRONT_STEP_M as far as it draws: the mean plan of the fastest. (F,)"""
    at = np.arange(0.0, settings.drawn_ends_at_m + FRONT_STEP_M, FRONT_STEP_M)
    pace = (roster.cruise_m_s * roster.pace_share)[:, None]
    plan = _plan_m_s(roster, at, pace, settings)[_in_front(roster)]
    # Sorted first: the order of the runners must leave no trace in a sum.
    return np.asarray(np.sort(plan, axis=0).mean(axis=0), dtype=np.float64)


def _in_front(roster: Roster) -> NDArray[np.bool_]:
    """Who are the fastest, whose pace is the front's? (N,)"""
    count = max(1, round(figure("racing.front_share").value * len(roster)))
    return np.asarray(roster.cruise_m_s >= np.sort(roster.cruise_m_s)[-count])


def goes_out(roster: Roster) -> Array:
    """How hard does everybody go out, the pull of the front counted? Shares faster than race pace, (N,).

    Of a race day's people who race for places: own + drawn max(0, front - own) over race pace, where the
    pull is whole (`tactics/front.py`). Check: tests/unit/answers/test_brief.py.
    """
    own = roster.cruise_m_s * (1.0 + roster.opening)
    front = float(np.sort(own[_in_front(roster)]).mean())
    pulled = own + roster.drawn * np.maximum(0.0, front - own)
    return np.asarray(pulled / roster.cruise_m_s - 1.0, dtype=np.float64)
