"""Which plan is best when every turn may be taken differently? A search under noise, with common seeds.

Every trial runs the same seeds, so trials differ by their plan and not by their luck.
"""

from __future__ import annotations

from dataclasses import replace

from simrun.answers.tactic.orders import OPENINGS, Order, fronts_of, told
from simrun.answers.tactic.search.bench import Bench
from simrun.answers.tactic.search.choices import mean_of
from simrun.base.errors import BadInput, Problem
from simrun.runners.line_choice import CHOICES

SAMPLER_SEED = 1


def searched(bench: Bench, start: Order, seeds: tuple[int, ...], trials: int) -> Order:
    """The order whose first five are there soonest among so many tried, begun at `start`.

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
    openings = tuple(sorted({*OPENINGS, float(start.opening)}))  # type: ignore[arg-type]
    study.enqueue_trial(begin | {"opening": start.opening})
    for _ in range(trials):
        trial = study.ask()
        order = _proposed(trial, start, fronts, openings)
        arm = bench.run({"trial": told(bench.day, bench.team, order)}, seeds)["trial"]
        study.tell(trial, mean_of(arm.scorers_s))
    return _proposed(optuna.trial.FixedTrial(study.best_params), start, fronts, openings)


def _proposed(
    trial: object, start: Order, fronts: dict[str, tuple[str, ...]], openings: tuple[float, ...]
) -> Order:
    ask = trial.suggest_categorical  # type: ignore[attr-defined]
    return replace(
        start,
        opening=ask("opening", openings),
        lines={turn: ask(f"line {turn}", CHOICES) for turn in start.lines},
        front=fronts[ask("front", tuple(fronts))],
    )
