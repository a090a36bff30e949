"""How is a plan found? In steps, all with the same seeds and so with the same people, chances and rivals.

Openings; the line at the first turn, where the crowd is; the later turns one by one; the front row; where to
sit and where to go; where asked for, a search over lines, front row and opening at once; every opening under
the best of it, for each runner's own; how many of the others hug the inside at the first turn. All races are
run to the finish. The plan is then checked on seeds it has not seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.tactic.orders import (
    MORE_OPENINGS,
    OPENINGS,
    RIVALS,
    Order,
    fronts_of,
    race_day,
    stages_of,
    the_team,
    told,
    turns_of,
)
from simrun.answers.tactic.search.bench import PRESENT, Bench, rivals_of
from simrun.answers.tactic.search.choices import (
    Choice,
    choice_of,
    fastest,
    mean_of,
    settled_choice,
)
from simrun.answers.tactic.search.splits import our_splits_s, rivals_split_s
from simrun.answers.tactic.search.tactic_score import KNEE_S, Scored, knee
from simrun.answers.tactic.search.tactic_search import searched
from simrun.answers.tactic.tactic_found import FRONT, PLAN, STAGES, Found, Rivals
from simrun.runners.line_choice import CHOICES
from simrun.runners.streams import point_number
from simrun.scenario.changes.changes_people import with_field_lines
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import Progress
from simrun.trials.how_sure import Judge, by_chance_alone, judge_of
from simrun.trials.stopping import Looks, Settled, look_until_clear
from simrun.trials.usual_pair import middle_seed

INSIDE_SHARES = (0.3, 0.6, 0.9)
"""How much of the field hugs the inside, when we ask what would change the answer."""

Seeds = tuple[int, ...]
Grid = dict[tuple[float, str], Scored]


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
    day = race_day(scenario, name)
    seeds = tuple(range(1, budget.seeds + 1))
    steps = _Steps(progress, budget, day, name)
    bench = Bench(day, name, store, **how, progress=steps.told)
    judge, choices = judge_of(day, seeds), dict[str, Choice[str]]()
    grid, order = _openings_and_lines(bench, seeds, judge, choices)
    steps.next()
    turns, order = _later_turns(bench, order, seeds, judge, choices)
    steps.next()
    fronts, order = _front_rows(bench, order, seeds, judge, choices)
    steps.next()
    stages, order = _stages(bench, order, seeds, judge, choices)
    steps.next()
    if budget.trials:
        order = searched(bench, order, seeds, budget.trials)
    steps.next()
    curve = _curve(bench, order, seeds)
    rivals = _rivals(day, name, curve, seeds)
    openings = _own_openings(day, name, curve, judge)
    order = replace(order, opening={who: found.chosen for who, found in openings.items()})
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
        fronts=fronts,
        stages=stages,
        curve=curve,
        by_share=by_share,
        choices=choices,
        openings=openings,
        splits_s=our_splits_s(day, name, sorted({*curve, *(o for o, _ in grid)})),
        rivals=rivals,
        plan=fresh[PLAN],
        paper=fresh[PRESENT],
        gain=gain,
        seeds=seeds,
        fresh_seeds=_fresh(day, seeds, len(gain.values)),
        trials=budget.trials,
    )


def _openings_and_lines(
    bench: Bench, seeds: Seeds, judge: Judge, choices: dict[str, Choice[str]]
) -> tuple[Grid, Order]:
    """Every opening with the plain line at the first turn, then every line there with the best of them.

    Further openings where the hardest tried so far is the best.
    """
    day, first = bench.day, turns_of(bench.day)[:1]
    plain = _plain_line(bench, first[0]) if first else "shortest"
    grid: Grid = {}
    for some in _ever_harder():
        if grid and _best(grid)[0] != max(opening for opening, _ in grid):
            break
        grid |= bench.run(
            {(o, plain): told(day, bench.team, _order(day, o, plain)) for o in some}, seeds
        )
    opening = _best(grid)[0]
    if not first:
        return grid, _order(day, opening, plain)
    grid |= bench.run(
        {(opening, w): told(day, bench.team, _order(day, opening, w)) for w in CHOICES}, seeds
    )
    values = {word: grid[opening, word].scorers_s for word in CHOICES}
    choices[first[0]] = settled_choice(values, plain, judge)
    return grid, _order(day, opening, choices[first[0]].chosen)


def _ever_harder() -> tuple[tuple[float, ...], ...]:
    """The openings that are tried, then one harder after the other."""
    return (OPENINGS, *((more,) for more in MORE_OPENINGS))


def _best(grid: Grid) -> tuple[float, str]:
    return fastest({key: arm.scorers_s for key, arm in grid.items()})


def _plain_line(bench: Bench, turn: str) -> str:
    """What the paper says of this turn, else the inside, the shortest way."""
    team = the_team(bench.day, bench.team)
    said = team.lines.get(turn, team.line)
    return str(said) if said in CHOICES else CHOICES[0]


def _order(day: Scenario, opening: float, word: str) -> Order:
    """This word at the first turn; the inside, the shortest way, at the later ones."""
    lines = dict.fromkeys(turns_of(day), CHOICES[0])
    return Order(opening, lines | dict.fromkeys(list(lines)[:1], word))


def _later_turns(
    bench: Bench, order: Order, seeds: Seeds, judge: Judge, choices: dict[str, Choice[str]]
) -> tuple[dict[tuple[str, str], Scored], Order]:
    """Every later turn by itself."""
    later = turns_of(bench.day)[1:]
    arms = {
        (turn, word): told(bench.day, bench.team, replace(order, lines={**order.lines, turn: word}))
        for turn in later
        for word in CHOICES
    }
    turns = bench.run(arms, seeds)
    for turn in later:
        values = {word: turns[turn, word].scorers_s for word in CHOICES}
        choices[turn] = settled_choice(values, _plain_line(bench, turn), judge)
    lines = {**order.lines, **{turn: choices[turn].chosen for turn in later}}
    return turns, replace(order, lines=lines)


def _front_rows(
    bench: Bench, order: Order, seeds: Seeds, judge: Judge, choices: dict[str, Choice[str]]
) -> tuple[dict[str, Scored], Order]:
    """Every front row that is offered."""
    offered = fronts_of(bench.day, bench.team)
    orders = {words: replace(order, front=front) for words, front in offered.items()}
    return _offered(bench, FRONT, orders, order, seeds, judge, choices)


def _stages(
    bench: Bench, order: Order, seeds: Seeds, judge: Judge, choices: dict[str, Choice[str]]
) -> tuple[dict[str, Scored], Order]:
    """Where to sit and where to go, against an even pace."""
    offered = stages_of(bench.day, bench.team)
    orders = {words: replace(order, stages=one) for words, one in offered.items()}
    return _offered(bench, STAGES, orders, order, seeds, judge, choices)


def _offered(
    bench: Bench,
    what: str,
    orders: Mapping[str, Order],
    order: Order,
    seeds: Seeds,
    judge: Judge,
    choices: dict[str, Choice[str]],
) -> tuple[dict[str, Scored], Order]:
    """Every order that is offered, and the one that is settled on, noted under `what`; the first is the plain
    one. Of one alone there is nothing to settle: the order stays.
    """
    arms = {words: told(bench.day, bench.team, one) for words, one in orders.items()}
    found = bench.run(arms, seeds)
    if len(found) > 1:
        values = {words: arm.scorers_s for words, arm in found.items()}
        choices[what] = settled_choice(values, next(iter(found)), judge)
        order = orders[choices[what].chosen]
    return found, order


def _curve(bench: Bench, order: Order, seeds: Seeds) -> dict[float, Scored]:
    """Every opening under the order; further where the hardest is the best for anybody of ours."""
    curve: dict[float, Scored] = {}
    for some in _ever_harder():
        if curve and not _ends_at_edge(curve):
            break
        arms = {o: told(bench.day, bench.team, replace(order, opening=o)) for o in some}
        curve |= bench.run(arms, seeds)
    return curve


def _ends_at_edge(curve: Mapping[float, Scored]) -> bool:
    """Is the hardest opening tried so far the one that anybody of ours would be told?"""
    return max(curve) in {_knee(curve, i) for i in range(_count(curve))}


def _count(curve: Mapping[float, Scored]) -> int:
    return next(iter(curve.values())).finish_s.shape[1]


def _knee(curve: Mapping[float, Scored], runner: int) -> float:
    """The least opening within half a second of this runner's best at the finish."""
    return knee({o: mean_of(arm.finish_s[:, runner]) for o, arm in curve.items()})


def _team_knee(curve: Mapping[float, Scored]) -> float:
    return knee({o: mean_of(arm.scorers_s) for o, arm in curve.items()})


def _own_openings(
    day: Scenario, team: str, curve: Mapping[float, Scored], judge: Judge
) -> dict[str, Choice[float]]:
    """How hard should each go out? Their own knee; that of the team for who can be told none from another."""
    found = {}
    for i, person in enumerate(the_team(day, team).people):
        values = {o: arm.finish_s[:, i] for o, arm in curve.items()}
        own = choice_of(values, _knee(curve, i), judge)
        found[person.name] = choice_of(values, _team_knee(curve), judge) if own.as_you_like else own
    return found


def _rivals(
    day: Scenario, team: str, curve: Mapping[float, Scored], seeds: Seeds
) -> dict[float, Rivals]:
    """What is the team's opening when the others go out calmer, as on paper, harder? By chance alone."""
    asked = np.array([rivals_of(seed) for seed in sorted(seeds)])
    chosen, found = _team_knee(curve), {}
    for by in sorted(RIVALS):
        which = asked == by
        if not which.any():
            continue
        some = {o: arm.of(which) for o, arm in curve.items()}
        own = _team_knee(some)
        values = {o: arm.scorers_s for o, arm in some.items()}
        against = choice_of({o: values[o] for o in {chosen, own}}, own, by_chance_alone)
        differs = chosen in against.worse and against.later[chosen].mean > KNEE_S
        found[by] = Rivals(rivals_split_s(day, team, by), int(which.sum()), own, differs)
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
        return found[PRESENT].scorers_s - found[PLAN].scorers_s

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
    ranked = sorted(found.grid, key=lambda key: mean_of(found.grid[key].scorers_s))
    ends = ranked[0], ranked[-1]
    seed = middle_seed(found.seeds, *(found.grid[key].scorers_s for key in ends))
    best, worst = (told(found.day, found.team, _order(found.day, *key)) for key in ends)
    return (best, worst), seed


class _Steps:
    """Progress over all steps, each with its part of the races."""

    def __init__(self, progress: Progress | None, budget: Budget, day: Scenario, team: str) -> None:
        words = len(CHOICES) if turns_of(day) else 0
        openings = len(OPENINGS)
        later = max(0, len(turns_of(day)) - 1)
        races = [openings + words, later * len(CHOICES), len(fronts_of(day, team))]
        races += [len(stages_of(day, team)), budget.trials, openings]
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
