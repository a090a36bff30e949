"""What did the search for a plan find out? The plan, everything that was tried, and both as a table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simrun.answers.tactic.orders import Order, the_team
from simrun.answers.tactic.tactic_score import Scored
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Judge, Sure, judge_of
from simrun.trials.statistics import Best
from simrun.trials.stopping import Settled

if TYPE_CHECKING:
    import pandas

PLAN = "the plan"
FRESH = "fresh seeds"


@dataclass(frozen=True)
class Found:
    """Everything `simrun tactic` found out.

    day: the race as run, our people named. order: the plan. grid: {(opening, word at the first turn): arm};
    turns: {(later turn, word): arm}; fronts: {words: arm}; curve: {opening: arm} with the chosen lines and
    front row; by_share: {(share inside, our word at the first turn): arm}. by_payback: {payback: opening}.
    plan, paper: the plan and what stood on paper, on seeds not used before.
    """

    day: Scenario
    team: str
    order: Order
    grid: Mapping[tuple[float, str], Scored]
    turns: Mapping[tuple[str, str], Scored]
    curve: Mapping[float, Scored]
    fronts: Mapping[str, Scored]
    by_share: Mapping[tuple[float, str], Scored]
    by_payback: Mapping[float, float]
    plan: Scored
    paper: Scored
    gain: Settled
    best: Best
    seeds: tuple[int, ...]
    fresh_seeds: tuple[int, ...]
    trials: int

    @property
    def names(self) -> list[str]:
        """Our people, in the order of the paper."""
        return [person.name for person in the_team(self.day, self.team).people]

    @property
    def marks(self) -> list[str]:
        """The checkpoints of the race, in order."""
        return [mark.name for mark in self.day.strip.checkpoints]

    @property
    def has_points(self) -> bool:
        """Does the team score? With fewer than five of ours the places count instead."""
        return not np.isnan(self.plan.points).any()

    def openings(self) -> dict[str, float]:
        """How much faster than race pace is each told to go out?"""
        return {name: self.order.opening_of(name) for name in self.names}

    @property
    def judge(self) -> Judge:
        """How values of the seeds that the plan was chosen with are judged."""
        return judge_of(self.day, self.seeds)

    @property
    def fresh_judge(self) -> Judge:
        """How values of the fresh seeds are judged."""
        return judge_of(self.day, self.fresh_seeds)

    def points_saved(self) -> Sure:
        """By how many points (or places) is the plan better than the paper's own?"""
        return self.fresh_judge(self.paper.cost - self.plan.cost)

    def inside_minus_outside(self) -> dict[float, Sure]:
        """By how many seconds is our inside slower than our outside, by the share of the others inside?"""
        shares = sorted({share for share, _ in self.by_share})
        return {
            share: self.judge(
                self.by_share[share, "inside"].lost_s[:, :, -1].mean(axis=1)
                - self.by_share[share, "outside"].lost_s[:, :, -1].mean(axis=1)
            )
            for share in shares
        }


def tactic_table(found: Found) -> pandas.DataFrame:
    """Every arm that was tried, a row a runner and checkpoint: mean seconds lost, its range, mean place.

    lost_s_low, lost_s_high: the whole range; chance_low, chance_high: what chance alone leaves of it.
    """
    import pandas as pd

    names, marks = found.names, found.marks
    rows = [
        {"step": step, "arm": arm_name, "runner": names[i], "checkpoint": marks[c]}
        | _cell(arm, i, c, found.fresh_judge if step == FRESH else found.judge)
        for step, arms in _steps(found).items()
        for arm_name, arm in arms.items()
        for i in range(len(names))
        for c in range(len(marks))
    ]
    return pd.DataFrame(rows)


def _steps(found: Found) -> dict[str, dict[str, Scored]]:
    return {
        "opening and line": {f"{o:.2f} {w}": arm for (o, w), arm in found.grid.items()},
        "later turns": {f"{turn} {w}": arm for (turn, w), arm in found.turns.items()},
        "front row": dict(found.fronts),
        "pay-off": {f"{o:.2f}": arm for o, arm in found.curve.items()},
        "share inside": {f"{s:.1f} {w}": arm for (s, w), arm in found.by_share.items()},
        FRESH: {PLAN: found.plan, "as on paper": found.paper},
    }


def _cell(arm: Scored, runner: int, checkpoint: int, judge: Judge) -> dict[str, float]:
    lost = judge(arm.lost_s[:, runner, checkpoint])
    place = arm.place[:, runner, checkpoint]
    return {
        "seeds": lost.count,
        "lost_s_mean": lost.mean,
        "lost_s_low": lost.low,
        "lost_s_high": lost.high,
        "chance_low": lost.by_chance.low,
        "chance_high": lost.by_chance.high,
        "place_mean": float(np.nanmean(place)) if not np.isnan(place).all() else np.nan,
        "finish_place_mean": float(np.mean(arm.finish_place[:, runner])),
    }
