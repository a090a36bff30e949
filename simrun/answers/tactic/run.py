"""What do we do about our box? How hard each goes out, which line, who stands in the front row.

In steps, all with the same seeds and so with the same people and chances: openings by the line at the first
turn, where the crowd is; the later turns one by one; the front row; where asked for, a search over everything
at once; the pay-off curve of every runner under the best of it; how many of the others hug the inside at the
first turn. The plan is then checked on seeds it has not seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.boxes.run import shortened
from simrun.answers.tactic.orders import (
    OPENINGS,
    Order,
    fronts_of,
    the_team,
    told,
    turns_of,
    with_our_people,
)
from simrun.answers.tactic.tactic_score import Scored, scored
from simrun.runners.line_choice import CHOICES
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.trials.carry_out import Progress, carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.statistics import Best, Estimate, best_of, paired
from simrun.trials.stopping import Looks, Settled, look_until_clear
from simrun.trials.usual_pair import middle_seed, record_pair

INSIDE_SHARES = (0.3, 0.6, 0.9)
"""How much of the field hugs the inside, when we ask what would change the answer."""

KNEE_S = 0.5
"""Within so many seconds of the best an opening is as good: a place or two at a finish."""

PRESENT = "as on paper"


@dataclass(frozen=True)
class Budget:
    """How much is run: seeds to choose with, looks at fresh seeds to check with, trials of the search."""

    seeds: int = 12
    looks: tuple[int, ...] = (10, 20, 40)
    trials: int = 0


@dataclass(frozen=True)
class Found:
    """Everything `simrun tactic` found out.

    day: the race as run, our people named. order: the plan. grid: {(opening, word at the first turn): arm};
    turns: {(later turn, word): arm}; fronts: {words: arm}; curve: {opening: arm} with the chosen lines and
    front row; by_share: {(share inside, our word at the first turn): arm}. by_payback: {payback: opening}.
    fresh: the plan and the paper's own on seeds not used before.
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
    fresh: Mapping[str, Scored]
    gain: Settled
    best: Best
    seeds: tuple[int, ...]
    fresh_seeds: tuple[int, ...]
    trials: int


class Bench:
    """Where arms are tried: every race once, kept in the store, scored against its base."""

    def __init__(self, day: Scenario, team: str, store: Path, **how: Any) -> None:
        self.day, self.team, self.store, self.how = day, team, store, how
        self.payback = figure("tactic.payback_share").value

    def run(self, arms: Mapping[Any, Scenario], seeds: tuple[int, ...]) -> dict[Any, Scored]:
        """Run these arms with these seeds: {key: what each is worth}."""
        carry_out(Plan({PRESENT: self.day}, seeds), self.store, **self.how | {"progress": None})
        if not arms:
            return {}
        named = {str(key): arm for key, arm in arms.items()}
        plan = Plan(named, seeds, self.team)
        carry_out(plan, self.store, **self.how)
        return {key: self._scored(plan, str(key), arm, self.payback) for key, arm in arms.items()}

    def at_payback(self, arm: Scenario, seeds: tuple[int, ...], payback: float) -> Scored:
        """What an arm that was run is worth when borrowed seconds cost so much."""
        return self._scored(Plan({"arm": arm}, seeds, self.team), "arm", arm, payback)

    def _scored(self, plan: Plan, name: str, arm: Scenario, payback: float) -> Scored:
        base = Plan({PRESENT: self.day}, plan.seeds)
        seeds = tuple(sorted(plan.seeds))
        return scored(
            arm,
            self.team,
            seeds,
            outcomes_of(plan, name, self.store),
            outcomes_of(base, PRESENT, self.store),
            payback,
        )


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

    words = CHOICES if turns_of(day) else ("shortest",)
    grid_arms = {(o, w): told(day, name, _order(day, o, w)) for w in words for o in OPENINGS}
    grid = bench.run(grid_arms, seeds)
    opening, word = min(grid, key=lambda key: _mean_cost(grid[key]))
    order = _order(day, opening, word)

    steps.next()
    turn_arms = {
        (turn, other): told(day, name, replace(order, lines={**order.lines, turn: other}))
        for turn in turns_of(day)[1:]
        for other in CHOICES
    }
    turns = bench.run(turn_arms, seeds)
    order = replace(order, lines={**order.lines, **_best_words(turns)})

    steps.next()
    fronts_told = fronts_of(day, name)
    front_arms = {
        words: told(day, name, replace(order, front=front)) for words, front in fronts_told.items()
    }
    fronts = bench.run(front_arms, seeds)
    front_words = min(fronts, key=lambda key: _mean_cost(fronts[key]))
    order = replace(order, front=fronts_told[front_words])

    steps.next()
    if budget.trials:
        from simrun.answers.tactic.tactic_search import searched

        order = searched(bench, order, seeds, budget.trials)

    steps.next()
    curve_arms = {o: told(day, name, replace(order, opening=o)) for o in OPENINGS}
    curve = bench.run(curve_arms, seeds)
    by_payback = _by_payback(bench, curve_arms, seeds)
    order = replace(order, opening=openings_of(day, name, curve))

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
        fresh=fresh,
        gain=gain,
        best=best_of({str(key): arm.cost for key, arm in grid.items()}),
        seeds=seeds,
        fresh_seeds=tuple(range(seeds[-1] + 1, seeds[-1] + 1 + len(gain.values))),
        trials=budget.trials,
    )


def _order(day: Scenario, opening: float, word: str) -> Order:
    """This word at the first turn; the inside, the shortest way, at the later ones."""
    lines = dict.fromkeys(turns_of(day), CHOICES[0])
    return Order(opening, lines | dict.fromkeys(list(lines)[:1], word))


def _best_words(turns: Mapping[tuple[str, str], Scored]) -> dict[str, str]:
    """The word of the lowest mean cost at every turn by itself."""
    ranked = sorted(turns, key=lambda key: _mean_cost(turns[key]), reverse=True)
    return dict(ranked)


def _mean_cost(arm: Scored) -> tuple[float, float]:
    """Points first; where they are equal, seconds."""
    return float(np.nanmean(arm.cost)), float(np.nanmean(arm.scorers_lost_s))


def knee(openings: Mapping[float, float], within_s: float = KNEE_S) -> float:
    """Which is the least opening within so much of the best of them? {opening: seconds lost}"""
    known = {o: s for o, s in openings.items() if s == s} or {0.0: 0.0}
    best = min(known.values())
    return min(o for o, seconds in known.items() if seconds <= best + within_s)


def openings_of(day: Scenario, team: str, curve: Mapping[float, Scored]) -> dict[str, float]:
    """How hard should each go out? The knee of every runner's own pay-off curve, by name."""
    names = [person.name for person in the_team(day, team).people]
    return {
        name: knee({o: _mean(arm.lost_s[:, i, -1]) for o, arm in curve.items()})
        for i, name in enumerate(names)
    }


def _mean(values: np.ndarray) -> float:
    return float(np.nanmean(values)) if not np.isnan(values).all() else float("nan")


def _by_payback(
    bench: Bench, arms: Mapping[float, Scenario], seeds: tuple[int, ...]
) -> dict[float, float]:
    """Where is the team's knee when borrowed seconds cost less, or more, than one for one?"""
    cost = figure("tactic.payback_share")
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
            arms[share, word] = ours.changed({"field.lines": lines})
    return arms


def _checked(
    bench: Bench, order: Order, seeds: tuple[int, ...], looks: tuple[int, ...]
) -> tuple[dict[str, Scored], Settled]:
    """The plan against the paper's own on seeds that had no part in choosing it, in planned looks."""
    arms = {"the plan": told(bench.day, bench.team, order), PRESENT: bench.day}
    first_fresh = seeds[-1] + 1

    def more(first: int, last: int) -> np.ndarray:
        found = bench.run(arms, tuple(range(first_fresh + first, first_fresh + last)))
        return found[PRESENT].scorers_lost_s - found["the plan"].scorers_lost_s

    gain = look_until_clear(more, Looks(looks))
    return bench.run(arms, tuple(range(first_fresh, first_fresh + len(gain.values)))), gain


def inside_minus_outside(found: Found) -> dict[float, Estimate]:
    """By how much is our inside slower than our outside, by how many of the others hug it? Seconds."""
    shares = sorted({share for share, _ in found.by_share})
    return {
        share: paired(
            found.by_share[share, "inside"].lost_s[:, :, -1].mean(axis=1),
            found.by_share[share, "outside"].lost_s[:, :, -1].mean(axis=1),
        )
        for share in shares
    }


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


def run_tactic(
    scenario: Scenario,
    folder: str | Path,
    team: str | None = None,
    budget: Budget | None = None,
    progress: Progress | None = None,
    *,
    until_m: float | None = 1000.0,
    story: bool = False,
    **how: Any,
) -> tuple[str, list[Path]]:
    """Find the team's plan, in one paragraph, and the files written: tactic.html, tactic.csv, payoff.png,
    the printed page, tactic_races.db.

    until_m: end the races at the last checkpoint before this; None: at the finish. Stopped and called
    again, it goes on with the races in tactic_races.db. story: also record the usual race of the best
    and of the worst opening and line, better.npz and worse.npz.
    """
    from simrun.answers.tactic.page import plan_words, write_tactic
    from simrun.base.writing import ready_folder

    where = ready_folder(folder)
    the_team(scenario, team)
    day = scenario if until_m is None else shortened(scenario, until_m)
    store = where / "tactic_races.db"
    found = find_tactic(day, team, store, budget, progress, **how)
    written = [*write_tactic(found, where), store]
    return " ".join(plan_words(found)), written + (_story(found, where) if story else [])


def _story(found: Found, folder: Path) -> list[Path]:
    """The recordings of the seed that is usual for the best and the worst of the grid."""
    ranked = sorted(found.grid, key=lambda key: _mean_cost(found.grid[key]))
    ends = ranked[0], ranked[-1]
    seed = middle_seed(found.seeds, *(found.grid[key].scorers_lost_s for key in ends))
    arms = [told(found.day, found.team, _order(found.day, *key)) for key in ends]
    return record_pair((arms[0], arms[1]), seed, folder)
