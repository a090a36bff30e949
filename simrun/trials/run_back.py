"""Of t seconds lost at the start, how many are run back? And how many places does a kick bring? Over races.

Our team is late at the gun by t, in nobody's plan, and does one of several things about it; beside it stands
the same team in the same race without the delay. Everybody else races as told in every arm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.engine.set_back import BY_PLAN, FOR_PLACES, WAYS, SetBack
from simrun.measure.finish import START_ENDS_M, start_mark
from simrun.measure.scoring import scores_at
from simrun.scenario.changes.changes_course import with_checkpoints
from simrun.scenario.changes.changes_people import with_hand, with_racing
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

TO_GO_M = (1000.0, 400.0, 200.0)
"""From so far before the finish the places that a kick brings are counted."""

CENTIMETRE_M = 0.01

SAME_M = 1.0
"""A mark so near to one that a drawing holds is that one."""


@dataclass(frozen=True)
class Marks:
    """Where the races of a study are timed: where the start is over, so far from the finish, and there."""

    start_m: float
    to_go_m: tuple[float, ...]
    finish_m: float
    name: str


def marks_of(day: Scenario, to_go_m: Sequence[float] = TO_GO_M) -> Marks:
    """Where is the start of this day over, and which of these distances to go lie behind that?

    The start is over where `start_mark` says; with no mark of its own before the finish, at START_ENDS_M or
    half-way.
    """
    length = day.strip.length_m
    found = day.strip.checkpoints[start_mark(day.strip)]
    if len(day.strip.checkpoints) > 1 and found.station_m < length - 1.0:
        start, name = found.station_m, found.name
    else:
        start = round(min(START_ENDS_M, length / 2.0))
        name = f"{start:.0f} m"
    to_go = tuple(far for far in to_go_m if length - far > start + 1.0)
    return Marks(start, to_go, length - CENTIMETRE_M, name)


def timed(day: Scenario, to_go_m: Sequence[float] = TO_GO_M) -> tuple[Scenario, Marks]:
    """The race day timed at these marks alone, and the marks. Those of a drawing stay: none is told twice."""
    marks = marks_of(day, to_go_m)
    finish = ("finish", round(marks.finish_m - CENTIMETRE_M / 2, 2))
    told = [(marks.name, marks.start_m)]
    told += [(f"{far:.0f} m to go", round(marks.finish_m - far, 2)) for far in marks.to_go_m]
    drawn = [mark.station_m for mark in with_checkpoints(day, [finish]).strip.checkpoints]
    drawn.remove(min(drawn, key=lambda at: abs(at - marks.finish_m)))
    new = [(name, at) for name, at in [*told, finish] if all(abs(at - d) > SAME_M for d in drawn)]
    return with_checkpoints(day, new), marks


def arm_of(in_hand_m: float, way: str, delay_s: float) -> str:
    """What is one arm of the study called?"""
    return f"{in_hand_m:g} m in hand, {way}, {delay_s:g} s"


def twin_way(way: str) -> str:
    """What does the same team do where nobody is late? Who only runs back what was lost runs by plan."""
    return FOR_PLACES if way == FOR_PLACES else BY_PLAN


def run_back_plan(
    day: Scenario,
    team: str,
    delays_s: Sequence[float],
    in_hand_m: Sequence[float],
    seeds: tuple[int, ...],
) -> Plan:
    """Every delay, way and metres in hand, and the same team without a delay, of a day with racing on."""
    arms: dict[str, Scenario] = {}
    told: dict[str, SetBack] = {}
    for hand in in_hand_m:
        arm = with_hand(with_racing(day), team, hand)
        twins = [(twin, 0.0) for twin in (BY_PLAN, FOR_PLACES)]
        for way, delay in [*twins, *((w, d) for d in delays_s for w in WAYS if d > 0.0)]:
            arms[arm_of(hand, way, delay)] = arm
            told[arm_of(hand, way, delay)] = SetBack(team, delay, way)
    return Plan(arms, seeds, set_back=told)


def lost_table(
    plan: Plan, store: Path, marks: Marks, delays_s: Sequence[float], in_hand_m: Sequence[float]
) -> pandas.DataFrame:
    """A row a seed, metres in hand, way and delay: what is left of the delay at both marks?

    start_s, finish_s: mean seconds by which our runners are later than they themselves without the delay;
    back_s = delay_s - finish_s. places: the same in places at the finish; points: in team points (nan with
    fewer than five at the finish). kept_m, left_m: metres of the reserve left at the finish without the delay
    and with it. runners: how many finished in both. Check: tests/unit/trials/test_run_back.py.
    """
    import pandas as pd

    rows = []
    for hand in in_hand_m:
        twins = {w: _by_seed(plan, store, arm_of(hand, w, 0.0)) for w in (BY_PLAN, FOR_PLACES)}
        for delay in delays_s:
            for way in WAYS:
                late = _by_seed(
                    plan, store, arm_of(hand, way if delay > 0 else twin_way(way), delay)
                )
                for seed, twin in twins[twin_way(way)].items():
                    found = _later(plan, marks, twin, late[seed])
                    row = {"seed": seed, "in_hand_m": hand, "way": way, "delay_s": delay}
                    rows.append(row | found | {"back_s": delay - found["finish_s"]})
    return pd.DataFrame(rows)


def kick_table(
    plan: Plan, store: Path, marks: Marks, in_hand_m: Sequence[float]
) -> pandas.DataFrame:
    """A row a seed, metres in hand, way and distance to go: how many places are won from there to the finish?

    Of races without a delay. our_places, our_most: won by one of ours in the mean, and by the one who won
    most. winners, most: how many of the whole field win places, and how many the one who wins most wins.
    Check: tests/unit/trials/test_run_back.py.
    """
    import pandas as pd

    rows = []
    for hand in in_hand_m:
        for way in (BY_PLAN, FOR_PLACES):
            for seed, race in _by_seed(plan, store, arm_of(hand, way, 0.0)).items():
                for far in marks.to_go_m:
                    won = _won(plan, race, marks.finish_m - far, marks.finish_m)
                    row = {"seed": seed, "in_hand_m": hand, "way": way, "to_go_m": far}
                    rows.append(row | _kick(won, won[_ours(plan, race)]))
    names = ("seed", "in_hand_m", "way", "to_go_m", "our_places", "our_most", "winners", "most")
    return pd.DataFrame(rows, columns=list(names))


def _by_seed(plan: Plan, store: Path, arm: str) -> dict[int, Outcome]:
    return dict(zip(sorted(plan.seeds), outcomes_of(plan, arm, store), strict=True))


def _team(plan: Plan) -> str:
    return next(iter(plan.set_back.values())).team


def _ours(plan: Plan, race: Outcome) -> NDArray[np.bool_]:
    names = [team.name for team in next(iter(plan.arms.values())).teams]
    return np.asarray(race.team_index == names.index(_team(plan)))


def _mark(plan: Plan, at_m: float) -> int:
    """Which of the marks of the arms is the one at these metres?"""
    stations = [mark.station_m for mark in next(iter(plan.arms.values())).strip.checkpoints]
    return int(np.abs(np.array(stations) - at_m).argmin())


def _later(plan: Plan, marks: Marks, twin: Outcome, late: Outcome) -> dict[str, float]:
    """What one race lost of another by the delay, in the mean of our runners who finished in both."""
    begin, end = _mark(plan, marks.start_m), _mark(plan, marks.finish_m)
    there = _ours(plan, twin) & np.isfinite(twin.crossing_s[:, end] + late.crossing_s[:, end])
    later, behind = late.crossing_s - twin.crossing_s, late.place - twin.place
    return {
        "runners": float(there.sum()),
        "start_s": _mean(later[there, begin]),
        "finish_s": _mean(later[there, end]),
        "places": _mean(behind[there, end]),
        "points": _points(plan, late, end) - _points(plan, twin, end),
        "kept_m": _mean(twin.reserve_m[there, end]),
        "left_m": _mean(late.reserve_m[there, end]),
    }


def _mean(values: Array) -> float:
    return float(values.mean()) if len(values) else np.nan


def _points(plan: Plan, race: Outcome, end: int) -> float:
    names = [team.name for team in next(iter(plan.arms.values())).teams]
    scores = scores_at(race.crossing_s[:, end], [names[t] for t in race.team_index])
    return next((float(s.points) for s in scores if s.team == _team(plan)), np.nan)


def _won(plan: Plan, race: Outcome, from_m: float, to_m: float) -> Array:
    """How many places did everybody win from here to there? (N,), nan: not come so far."""
    won: Array = race.place[:, _mark(plan, from_m)] - race.place[:, _mark(plan, to_m)]
    return won


def _kick(won: Array, ours: Array) -> dict[str, float]:
    known = ours[np.isfinite(ours)]
    return {
        "our_places": _mean(known),
        "our_most": float(known.max()) if len(known) else np.nan,
        "winners": float((won > 0).sum()),
        "most": float(np.nanmax(won)) if np.isfinite(won).any() else np.nan,
    }
