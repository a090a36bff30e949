"""Which layout is fairest, given what cannot move? What does it trade, and what does one change gain?

Three things are wanted at once: boxes that lose alike, little queueing, and little ground that is not there
now. What is not named as a range stays as it is. The layouts that nothing beats in all three are kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simrun.answers.layout.knobs import headline, present
from simrun.answers.layout.layout_measures import LayoutSample, fairer_by_s, unfairness_s
from simrun.answers.layout.layout_sweep import lay_out, mean_of, race_all, race_layout
from simrun.base.errors import BadInput, Problem
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import Progress
from simrun.trials.statistics import Estimate

FRESH = 1_000_000
"""Fresh seeds begin here: people that the search never met."""

SEARCH_SEED = 1
MOST_SHARE = 0.5
"""A change counts as most of the gain from half of it on."""

Ranges = Mapping[str, tuple[float, ...]]


@dataclass(frozen=True)
class Change:
    """One knob turned alone: what it gains in seconds between boxes, and as a share of the whole gain."""

    name: str
    value: float
    gain_s: Estimate
    share: float
    ground_m: float


@dataclass(frozen=True)
class Found:
    """What a search found. tried: how many layouts. front: those that nothing beats, with fresh races.

    now: the present layout with fresh races. best: the values that were fairest in the search. whole: what
    all its changes together gain; changes: what each gains alone, the largest gain first.
    """

    tried: int
    now: LayoutSample
    front: list[tuple[dict[str, float], LayoutSample]]
    best: dict[str, float]
    whole: Estimate
    changes: list[Change]

    @property
    def cheapest(self) -> Change | None:
        """The change that gets most of the gain for the least ground. None where no such gain is seen."""
        if not self.whole.low > 0:
            return None
        seen = [change for change in self.changes if change.gain_s.low > 0]
        much = [change for change in seen if change.share >= MOST_SHARE]
        return min(much, key=lambda change: (change.ground_m, -change.share), default=None)


def ground_m(scenario: Scenario, values: Mapping[str, float]) -> float:
    """How many metres of line, of straight and of narrowing does a layout need beyond what is there?"""
    now = present(scenario)
    named = values.keys() & {"width", "straight", "throat"}
    return float(sum(max(0.0, values[name] - now[name]) for name in named))


def search(
    scenario: Scenario,
    ranges: Ranges,
    seeds: tuple[int, ...],
    store: Path,
    tries: int,
    *,
    until_m: float | None = None,
    progress: Progress | None = None,
    **how: Any,
) -> Found:
    """Try so many layouts, then race those that nothing beats again with fresh seeds.

    Stopped and called again with the same words it asks for the same layouts, which the store then has.
    Raises BadInput where the optimiser is missing.
    """
    fresh, tell = tuple(FRESH + seed for seed in seeds), _later(progress)
    trials = _tried(scenario, ranges, seeds, store, tries, progress, {**how, "until_m": until_m})
    laid = lay_out(scenario, trials.front, until_m)
    front = race_all(laid, fresh, store, progress=tell, **how).raced
    how |= {"until_m": until_m}
    now = race_layout(scenario, {}, fresh, store, progress=tell, **how)
    return _found(
        scenario, trials, now, front, lambda v: race_layout(scenario, v, fresh, store, **how)
    )


def _later(progress: Progress | None) -> Progress | None:
    return None if progress is None else lambda share: progress(0.8 + 0.2 * share)


@dataclass(frozen=True)
class _Trials:
    count: int
    front: list[dict[str, float]]
    best: dict[str, float]


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
    for number in range(tries):
        trial = study.ask()
        steps = {name: trial.suggest_int(name, 0, len(v) - 1) for name, v in ranges.items()}
        values = {name: ranges[name][step] for name, step in steps.items()}
        try:
            score = scores.get(tuple(values.values())) or _score(
                scenario, values, seeds, store, how
            )
        except BadInput:
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
    return _Trials(len(scores), told, dict(zip(names, best, strict=True)))


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
    unfair = unfairness_s(sample, headline(sample.day)).mean
    return unfair, mean_of(sample, "queue_s"), ground_m(scenario, values)


def _found(scenario: Scenario, trials: _Trials, now: LayoutSample, front: Any, raced: Any) -> Found:
    at = headline(now.day)
    whole = fairer_by_s(now, raced(trials.best), at)
    standing = present(scenario)
    moved = {n: v for n, v in trials.best.items() if abs(v - standing.get(n, v)) > 1e-6}
    changes = []
    for name, value in moved.items():
        alone = {name: value}
        try:
            gain = fairer_by_s(now, raced(alone), at)
        except BadInput:
            continue
        share = gain.mean / whole.mean if whole.mean > 0 else 0.0
        changes.append(Change(name, value, gain, share, ground_m(scenario, alone)))
    changes.sort(key=lambda change: -change.share)
    return Found(trials.count, now, front, trials.best, whole, changes)


def _optimiser() -> Any:
    try:
        import optuna
    except ImportError:
        allowed = "install the extra `search`: pip install 'simrun[search]'"
        raise BadInput(Problem("--search", "the optimiser is missing", allowed)) from None
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    return optuna
