"""Which plan is best when every turn may be taken differently? A search under noise, with common seeds.

Every trial runs the same seeds, so trials differ by their plan and not by their luck.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from simrun.answers.tactic.orders import OPENINGS, Order, fronts_of, told
from simrun.base.errors import BadInput, Problem
from simrun.runners.line_choice import CHOICES

if TYPE_CHECKING:
    from simrun.answers.tactic.run import Bench

SAMPLER_SEED = 1


def searched(bench: Bench, start: Order, seeds: tuple[int, ...], trials: int) -> Order:
    """The order with the lowest mean cost among so many tried, begun at `start`.

    Tree-structured Parzen estimator, ask and tell. Called again, the same plans are tried in the same
    order, and their races are in the store. Raises BadInput where the extra is not installed.
    """
    try:
        import optuna
    except ImportError:
        allowed = 'pip install "simrun[search]", or no trials'
        raise BadInput(Problem("trials", "optuna is not installed", allowed)) from None
    optuna.logging.set_verbosity(optuna.logging.WARNING)
    sampler = optuna.samplers.TPESampler(seed=SAMPLER_SEED)
    study = optuna.create_study(sampler=sampler)
    fronts = fronts_of(bench.day, bench.team)
    begin = {f"line {turn}": word for turn, word in start.lines.items()}
    begin["front"] = next(words for words, front in fronts.items() if front == start.front)
    study.enqueue_trial(begin | {"opening": start.opening})
    for _ in range(trials):
        trial = study.ask()
        order = _proposed(trial, start, fronts)
        arm = bench.run({"trial": told(bench.day, bench.team, order)}, seeds)["trial"]
        study.tell(trial, float(arm.cost.mean()))
    return _proposed(optuna.trial.FixedTrial(study.best_params), start, fronts)


def _proposed(trial: object, start: Order, fronts: dict[str, tuple[str, ...]]) -> Order:
    ask = trial.suggest_categorical  # type: ignore[attr-defined]
    return replace(
        start,
        opening=ask("opening", OPENINGS),
        lines={turn: ask(f"line {turn}", CHOICES) for turn in start.lines},
        front=fronts[ask("front", tuple(fronts))],
    )
