"""How is a plan found? In steps, all with the same seeds and so with the same people and chances.

Openings by the line at the first turn, where the crowd is; the later turns one by one; the front row; where
asked for, a search over everything at once; the pay-off curve of every runner under the best of it; how many
of the others hug the inside at the first turn. The plan is then checked on seeds it has not seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.tactic.bench import PAYBACK, PRESENT, Bench
from simrun.answers.tactic.orders import (
    OPENINGS,
    Order,
    fronts_of,
    the_team,
    told,
    turns_of,
    with_our_people,
)
from simrun.answers.tactic.tactic_found import PLAN, Found
from simrun.answers.tactic.tactic_score import Scored, knee
from simrun.answers.tactic.tactic_search import searched
from simrun.runners.line_choice import CHOICES
from simrun.runners.streams import point_number
from simrun.scenario.changes.changes_people import with_field_lines
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.trials.carry_out import Progress
from simrun.trials.how_sure import judge_of
from simrun.trials.statistics import best_of
from simrun.trials.stopping import Looks, Settled, look_until_clear
from simrun.trials.usual_pair import middle_seed

INSIDE_SHARES = (0.3, 0.6, 0.9)
"""How much of the field hugs the inside, when we ask what would change the answer."""

Seeds = tuple[int, ...]


@dataclass(frozen=True)
class Budget:
    """How much is run: seeds to choose with, looks at fresh seeds to check with, trials of the search."""

    seeds: int = 12
    looks: tuple[int, ...] = (10, 20, 40)
    trials: int = 0


def find_tactic(
    scenario: Scenario,
    team: str | None,
    store: Path,
    budget: Budget | None = None,
    progress: Progress | None = None,
    **how: Any,
) -> Found:
    """Which plan suits this team's box, how sure is that, and what would change it?

    team: by name, None for ours. how: workers or executor, as of `carry_out`. Raises BadInput.
    Check: tests/journeys/test_tactic.py.
    """
    budget = budget or Budget()
    name = the_team(scenario, team).name
    day = with_our_people(scenario, name)
    seeds = tuple(range(1, budget.seeds + 1))
    steps = _Steps(progress, budget, day, name)
    bench = Bench(day, name, store, **how, progress=steps.told)
    grid, order = _openings_and_lines(bench, seeds)
    steps.next()
    turns, order = _later_turns(bench, order, seeds)
    steps.next()
    fronts, order = _front_rows(bench, order, seeds)
    steps.next()
    if budget.trials:
        order = searched(bench, order, seeds, budget.trials)
    steps.next()
    curve, by_payback, order = _payoff(bench, order, seeds)
    steps.next()
    by_share = bench.run(_share_arms(day, name, order), seeds)
    steps.next()
    fresh, gain = _checked(bench, order, seeds, budget.looks)
    return Found(
        day=day,
        team=name,
        order=order,
        grid=grid,
        turns=turns,
        curve=curve,
        fronts=fronts,
        by_share=by_share,
        by_payback=by_payback,
        plan=fresh[PLAN],
        paper=fresh[PRESENT],
        gain=gain,
        best=best_of({str(key): arm.cost for key, arm in grid.items()}, judge=judge_of(day, seeds)),
        seeds=seeds,
        fresh_seeds=_fresh(day, seeds, len(gain.values)),
        trials=budget.trials,
    )


def _openings_and_lines(
    bench: Bench, seeds: Seeds
) -> tuple[dict[tuple[float, str], Scored], Order]:
    """Every opening with every line at the first turn, and the order that cost least."""
    day = bench.day
    words = CHOICES if turns_of(day) else ("shortest",)
    arms = {(o, w): told(day, bench.team, _order(day, o, w)) for w in words for o in OPENINGS}
    grid = bench.run(arms, seeds)
    return grid, _order(day, *_least(grid))


def _order(day: Scenario, opening: float, word: str) -> Order:
    """This word at the first turn; the inside, the shortest way, at the later ones."""
    lines = dict.fromkeys(turns_of(day), CHOICES[0])
    return Order(opening, lines | dict.fromkeys(list(lines)[:1], word))


def _later_turns(
    bench: Bench, order: Order, seeds: Seeds
) -> tuple[dict[tuple[str, str], Scored], Order]:
    """Every later turn by itself, and the word of the lowest mean cost at each."""
    arms = {
        (turn, word): told(bench.day, bench.team, replace(order, lines={**order.lines, turn: word}))
        for turn in turns_of(bench.day)[1:]
        for word in CHOICES
    }
    turns = bench.run(arms, seeds)
    best = dict(sorted(turns, key=lambda key: _mean_cost(turns[key]), reverse=True))
    return turns, replace(order, lines={**order.lines, **best})


def _front_rows(bench: Bench, order: Order, seeds: Seeds) -> tuple[dict[str, Scored], Order]:
    """Every front row that is offered, and the one that cost least."""
    offered = fronts_of(bench.day, bench.team)
    arms = {
        words: told(bench.day, bench.team, replace(order, front=front))
        for words, front in offered.items()
    }
    fronts = bench.run(arms, seeds)
    return fronts, replace(order, front=offered[_least(fronts)])


def _least(arms: Mapping[Any, Scored]) -> Any:
    return min(arms, key=lambda key: _mean_cost(arms[key]))


def _mean_cost(arm: Scored) -> tuple[float, float]:
    """Points first; where they are equal, seconds."""
    return float(np.nanmean(arm.cost)), float(np.nanmean(arm.scorers_lost_s))


def _payoff(
    bench: Bench, order: Order, seeds: Seeds
) -> tuple[dict[float, Scored], dict[float, float], Order]:
    """Every opening under the order, the team's knee by what borrowed seconds cost, and each one's own."""
    arms = {o: told(bench.day, bench.team, replace(order, opening=o)) for o in OPENINGS}
    curve = bench.run(arms, seeds)
    own = openings_of(bench.day, bench.team, curve)
    return curve, _by_payback(bench, arms, seeds), replace(order, opening=own)


def openings_of(day: Scenario, team: str, curve: Mapping[float, Scored]) -> dict[str, float]:
    """How hard should each go out? The knee of every runner's own pay-off curve, by name."""
    names = [person.name for person in the_team(day, team).people]
    return {
        name: knee({o: _mean(arm.lost_s[:, i, -1]) for o, arm in curve.items()})
        for i, name in enumerate(names)
    }


def _mean(values: np.ndarray) -> float:
    return float(np.nanmean(values)) if not np.isnan(values).all() else float("nan")


def _by_payback(bench: Bench, arms: Mapping[float, Scenario], seeds: Seeds) -> dict[float, float]:
    """Where is the team's knee when borrowed seconds cost less, or more, than one for one?"""
    cost = figure(PAYBACK)
    found = {}
    for payback in (cost.low, cost.value, cost.high):
        finish = {o: bench.at_payback(arm, seeds, payback).finish_s for o, arm in arms.items()}
        found[payback] = knee({o: _mean(seconds.mean(axis=1)) for o, seconds in finish.items()})
    return found


def _share_arms(day: Scenario, team: str, order: Order) -> dict[tuple[float, str], Scenario]:
    """The plan on the inside and on the outside, when few, many, nearly all of the others hug the inside."""
    if not order.lines:
        return {}
    first = next(iter(order.lines))
    arms = {}
    for share in INSIDE_SHARES:
        rest = (1 - share) / 2
        lines = {"inside": share, "middle": rest, "outside": rest}
        for word in ("inside", "outside"):
            ours = told(day, team, replace(order, lines={**order.lines, first: word}))
            arms[share, word] = with_field_lines(ours, lines)
    return arms


def _checked(
    bench: Bench, order: Order, seeds: Seeds, looks: tuple[int, ...]
) -> tuple[dict[str, Scored], Settled]:
    """The plan against the paper's own on seeds that had no part in choosing it, in planned looks."""
    arms = {PLAN: told(bench.day, bench.team, order), PRESENT: bench.day}
    fresh = _fresh(bench.day, seeds, looks[-1])

    def more(first: int, last: int) -> np.ndarray:
        found = bench.run(arms, fresh[first:last])
        return found[PRESENT].scorers_lost_s - found[PLAN].scorers_lost_s

    gain = look_until_clear(more, Looks(looks), judge=judge_of(bench.day, fresh))
    return bench.run(arms, fresh[: len(gain.values)]), gain


def _fresh(day: Scenario, seeds: Seeds, count: int) -> Seeds:
    """So many seeds that had no part in the choice; nor had their inputs, where those are drawn."""
    first = seeds[-1] + 1
    while day.inputs.drawn and point_number(first) == point_number(seeds[-1]):
        first += 1
    return tuple(range(first, first + count))


def usual_race(found: Found) -> tuple[tuple[Scenario, Scenario], int]:
    """The best and the worst opening and line of the grid, and the seed that is usual for both."""
    ranked = sorted(found.grid, key=lambda key: _mean_cost(found.grid[key]))
    ends = ranked[0], ranked[-1]
    seed = middle_seed(found.seeds, *(found.grid[key].scorers_lost_s for key in ends))
    best, worst = (told(found.day, found.team, _order(found.day, *key)) for key in ends)
    return (best, worst), seed


class _Steps:
    """Progress over all steps, each with its part of the races."""

    def __init__(self, progress: Progress | None, budget: Budget, day: Scenario, team: str) -> None:
        words = len(CHOICES) if turns_of(day) else 1
        openings = len(OPENINGS)
        later = max(0, len(turns_of(day)) - 1)
        races = [openings * words, later * len(CHOICES), len(fronts_of(day, team))]
        races += [budget.trials, openings]
        races += [2 * len(INSIDE_SHARES) if turns_of(day) else 0]
        parts = [count * budget.seeds for count in races] + [2 * budget.looks[-1]]
        self.ends = np.cumsum([0, *parts]) / sum(parts)
        self.progress, self.step, self.done = progress, 0, 0.0

    def next(self) -> None:
        """The next step begins."""
        self.step += 1

    def told(self, share: float) -> None:
        """So much of the plan of the moment is done; the whole never goes back."""
        first, last = self.ends[self.step : self.step + 2]
        self.done = max(self.done, float(first + share * (last - first)))
        if self.progress:
            self.progress(self.done)
