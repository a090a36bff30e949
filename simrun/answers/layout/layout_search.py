"""Which layout is fairest, given what cannot move? What does it trade, and what does one change gain?

Three things are wanted at once: boxes that lose alike, little queueing, and little ground that has to be
added. What is not named as a range stays as it is. The layouts that nothing beats in all three are kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from simrun.answers.layout.fair.fairness import fairer_by_s, unfairness_s
from simrun.answers.layout.fair.layout_sample import LayoutSample, mean_of
from simrun.answers.layout.layout_found import Change, Searched
from simrun.answers.layout.layout_sweep import lay_out, race_all, race_layout
from simrun.answers.layout.varied import ground_m, headline, present
from simrun.base.errors import BadInput, Problem
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import Progress, part_of

FRESH = 1_000_000
"""Fresh seeds begin here: people that the search never met."""

SEARCH_SEED = 1

Ranges = Mapping[str, tuple[float, ...]]


def search(
    scenario: Scenario,
    ranges: Ranges,
    seeds: tuple[int, ...],
    store: Path,
    tries: int,
    *,
    until_m: float | None = None,
    at: str = "",
    progress: Progress | None = None,
    **how: Any,
) -> Searched:
    """Try so many layouts, then race those that nothing beats again with fresh seeds.

    Run again with the same words it asks for the same layouts, which the store then has.
    Raises BadInput where the optimiser is missing.
    """
    fresh, tell = tuple(FRESH + seed for seed in seeds), part_of(progress, 0.8, 1.0)
    trials = _tried(
        scenario, ranges, seeds, store, tries, progress, {**how, "until_m": until_m, "at": at}
    )
    laid = lay_out(scenario, trials.front, until_m, at)
    front = race_all(laid, fresh, store, progress=tell, **how).raced
    how |= {"until_m": until_m, "at": at}
    now = race_layout(scenario, {}, fresh, store, progress=tell, **how)
    raced = partial(race_layout, scenario, seeds=fresh, store=store, **how)
    return _found(scenario, trials, now, front, raced, headline(now.day, at))


@dataclass(frozen=True)
class _Trials:
    count: int
    front: list[dict[str, float]]
    best: dict[str, float]
    unfit: dict[tuple[float, ...], str]


def _tried(
    scenario: Scenario,
    ranges: Ranges,
    seeds: tuple[int, ...],
    store: Path,
    tries: int,
    progress: Progress | None,
    how: dict[str, Any],
) -> _Trials:
    optuna = _optimiser()
    sampler = optuna.samplers.TPESampler(seed=SEARCH_SEED, n_startup_trials=max(4, tries // 3))
    study = optuna.create_study(directions=["minimize"] * 3, sampler=sampler)
    scores: dict[tuple[float, ...], tuple[float, float, float]] = {}
    unfit: dict[tuple[float, ...], str] = {}
    for number in range(tries):
        trial = study.ask()
        steps = {name: trial.suggest_int(name, 0, len(v) - 1) for name, v in ranges.items()}
        values = {name: ranges[name][step] for name, step in steps.items()}
        try:
            score = scores.get(tuple(values.values())) or _score(
                scenario, values, seeds, store, how
            )
        except BadInput as wrong:
            unfit[tuple(values.values())] = "; ".join(str(wrong).splitlines())
            study.tell(trial, state=optuna.trial.TrialState.FAIL)
            continue
        scores[tuple(values.values())] = score
        study.tell(trial, score)
        if progress:
            progress(0.8 * (number + 1) / tries)
    if not scores:
        raise BadInput(Problem("--search", "no layout that fits", "other ranges, or more tries"))
    names = list(ranges)
    front = {key for key in scores if not any(_beats(scores[o], scores[key]) for o in scores)}
    best = min(scores, key=lambda key: scores[key])
    told = [dict(zip(names, key, strict=True)) for key in sorted(front)]
    return _Trials(len(scores), told, dict(zip(names, best, strict=True)), unfit)


def _beats(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Nowhere worse, and somewhere better."""
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))


def _score(
    scenario: Scenario,
    values: dict[str, float],
    seeds: tuple[int, ...],
    store: Path,
    how: dict[str, Any],
) -> tuple[float, float, float]:
    sample = race_layout(scenario, values, seeds, store, **how)
    unfair = unfairness_s(sample, headline(sample.day, how["at"])).mean
    return unfair, mean_of(sample, "queue_s"), ground_m(scenario, values)


def _found(
    scenario: Scenario, trials: _Trials, now: LayoutSample, front: Any, raced: Any, at: str
) -> Searched:
    whole = fairer_by_s(now, raced(values=trials.best), at)
    standing = present(scenario)
    moved = {n: v for n, v in trials.best.items() if abs(v - standing.get(n, v)) > 1e-6}
    changes = []
    unfit = [(dict(zip(trials.best, key, strict=True)), why) for key, why in trials.unfit.items()]
    for name, value in moved.items():
        alone = {name: value}
        try:
            gain = fairer_by_s(now, raced(values=alone), at)
        except BadInput as wrong:
            unfit.append((alone, "; ".join(str(wrong).splitlines())))
            continue
        share = gain.mean / whole.mean if whole.mean > 0 else 0.0
        changes.append(Change(name, value, gain, share, ground_m(scenario, alone)))
    changes.sort(key=lambda change: -change.share)
    return Searched(trials.count, now, front, trials.best, whole, changes, unfit)


def _optimiser() -> Any:
    try:
        import optuna
    except ImportError:
        allowed = "install the extra `search`: pip install 'simrun[search]'"
        raise BadInput(Problem("--search", "the optimiser is missing", allowed)) from None
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    return optuna
