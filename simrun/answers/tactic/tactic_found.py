"""What did the search for a plan find out? The plan, everything that was tried, and both as tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.answers.tactic.orders import Order, gate_of, stake_of, the_team, told
from simrun.answers.tactic.search.choices import Choice
from simrun.answers.tactic.search.tactic_score import Scored
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Judge, Sure, judge_of
from simrun.trials.stopping import Settled

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

PLAN = "the plan"
FRESH = "fresh seeds"
FRONT, STAGES = "front row", "where to sit and go"
"""Two choices that are no turn's."""


@dataclass(frozen=True)
class Rivals:
    """One opening of the others: their middle one's seconds to the stake, how many races, the team's best
    opening against it, and whether that beats the plan's beyond chance.
    """

    stake_s: float
    races: int
    opening: float
    differs: bool


@dataclass(frozen=True)
class Found:
    """Everything `simrun tactic` found out.

    day: the race as run, our people named. order: the plan. grid: {(opening, word at the first turn): arm},
    not every pair; turns: {(later turn, word): arm}; fronts, stages: {words: arm}; curve: {opening: arm} with
    the chosen lines, front row and stages; by_share: {(share inside, our word at the first turn): arm}.
    choices: by turn, FRONT and STAGES; openings: by runner. splits_s: {opening: seconds to the stake alone,
    (n,)}. rivals: {by how much harder the others go out: what that changes}. plan, paper: the plan and what
    stood on paper, on seeds not used before.
    """

    day: Scenario
    team: str
    order: Order
    grid: Mapping[tuple[float, str], Scored]
    turns: Mapping[tuple[str, str], Scored]
    fronts: Mapping[str, Scored]
    stages: Mapping[str, Scored]
    curve: Mapping[float, Scored]
    by_share: Mapping[tuple[float, str], Scored]
    choices: Mapping[str, Choice[str]]
    openings: Mapping[str, Choice[float]]
    splits_s: Mapping[float, Array]
    rivals: Mapping[float, Rivals]
    plan: Scored
    paper: Scored
    gain: Settled
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
    def stake(self) -> int:
        """The checkpoint where the opening ends."""
        return stake_of(self.day, self.team)

    @property
    def gate(self) -> int:
        """The checkpoint where the start is over."""
        return gate_of(self.day)

    @property
    def has_points(self) -> bool:
        """Does the team score? With fewer than five of ours the places count instead."""
        return not np.isnan(self.plan.points).any()

    @property
    def judge(self) -> Judge:
        """How values of the seeds that the plan was chosen with are judged."""
        return judge_of(self.day, self.seeds)

    @property
    def fresh_judge(self) -> Judge:
        """How values of the fresh seeds are judged."""
        return judge_of(self.day, self.fresh_seeds)

    @property
    def plan_day(self) -> Scenario:
        """The race day with this plan on paper: what a scenario's file may hold."""
        return told(self.day, self.team, self.order)

    def points_saved(self) -> Sure:
        """By how many points (or places) is the plan better than the paper's own?"""
        return self.fresh_judge(self.paper.cost - self.plan.cost)

    def inside_minus_outside(self) -> dict[float, Sure]:
        """By how many seconds is our inside later than our outside, by the share of the others inside?"""
        shares = sorted({share for share, _ in self.by_share})
        return {
            share: self.judge(
                _row_means(
                    self.by_share[share, "inside"].finish_s
                    - self.by_share[share, "outside"].finish_s
                )
            )
            for share in shares
        }


def tactic_table(found: Found) -> pandas.DataFrame:
    """Every arm that was tried, a row a runner and checkpoint: mean time, its range, traffic, mean place.

    time_s_low, time_s_high: the whole range; chance_low, chance_high: what chance alone leaves of it.
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


def choices_table(found: Found) -> pandas.DataFrame:
    """A row an order and each other word tried: by how many seconds later at the finish than the chosen.

    order: a turn, the front row, where to sit and go, or a runner's opening (then the words are seconds to
    the stake alone). later_s with its whole range (_low, _high), that of chance alone, and the p-value after
    all of the order's words have been looked at. as_you_like: could the chosen be told from none of them?
    """
    import pandas as pd

    rows = []
    for order, choice in found.choices.items():
        rows += [_choice_row(order, choice, word, str(word)) for word in choice.later]
    for i, (name, own) in enumerate(found.openings.items()):
        rows += [
            _choice_row(f"opening of {name}", own, o, f"{found.splits_s[o][i]:.1f} s")
            | {"chosen": f"{found.splits_s[own.chosen][i]:.1f} s"}
            for o in own.later
        ]
    return pd.DataFrame(rows, columns=list(rows[0]) if rows else ["order"])


def _choice_row(order: str, choice: Choice, word: object, words: str) -> dict[str, object]:
    later = choice.later[word]
    return {
        "order": order,
        "chosen": str(choice.chosen),
        "against": words,
        "later_s": later.mean,
        "later_s_low": later.low,
        "later_s_high": later.high,
        "chance_low": later.by_chance.low,
        "chance_high": later.by_chance.high,
        "p_holm": choice.p_value[word],
        "as_you_like": choice.as_you_like,
    }


def rivals_table(found: Found) -> pandas.DataFrame:
    """A row an opening of the others: their middle one's seconds to the stake, and our best against it.

    best_from_s, best_to_s: the seconds of our fastest and of our slowest to open at the stake then.
    """
    import pandas as pd

    rows = []
    for by, rivals in found.rivals.items():
        ours = found.splits_s[rivals.opening]
        rows.append(
            {
                "others_harder": by,
                "others_stake_s": rivals.stake_s,
                "races": rivals.races,
                "best_from_s": float(np.min(ours)),
                "best_to_s": float(np.max(ours)),
                "differs": rivals.differs,
            }
        )
    return pd.DataFrame(rows)


def _steps(found: Found) -> dict[str, dict[str, Scored]]:
    return {
        "opening and line": {f"{o:.2f} {w}": arm for (o, w), arm in found.grid.items()},
        "later turns": {f"{turn} {w}": arm for (turn, w), arm in found.turns.items()},
        FRONT: dict(found.fronts),
        STAGES: dict(found.stages),
        "pay-off": {f"{o:.2f}": arm for o, arm in found.curve.items()},
        "share inside": {f"{s:.1f} {w}": arm for (s, w), arm in found.by_share.items()},
        FRESH: {PLAN: found.plan, "as on paper": found.paper},
    }


def _cell(arm: Scored, runner: int, checkpoint: int, judge: Judge) -> dict[str, float]:
    time = judge(arm.crossing_s[:, runner, checkpoint])
    traffic, place = (a[:, runner, checkpoint] for a in (arm.traffic_s, arm.place))
    return {
        "seeds": time.count,
        "time_s_mean": time.mean,
        "time_s_low": time.low,
        "time_s_high": time.high,
        "chance_low": time.by_chance.low,
        "chance_high": time.by_chance.high,
        "traffic_s_mean": _mean(traffic),
        "place_mean": _mean(place),
    }


def _row_means(values: Array) -> Array:
    """The mean of every race, of who is there; nan where nobody is."""
    return np.array([_mean(row) for row in values])


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if not np.isnan(values).all() else float("nan")
