"""How are layouts raced? Each with the same seeds, kept in one store, taken up again where it stopped."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.layout.knobs import Values, layout_of
from simrun.answers.layout.layout_measures import LayoutSample, sample_of
from simrun.base.errors import BadInput
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out
from simrun.trials.plan import Plan
from simrun.trials.store import Store


@dataclass(frozen=True)
class Sweep:
    """Layouts that were raced, in order: the knobs of each with its races; and those that do not fit, why."""

    raced: list[tuple[dict[str, float], LayoutSample]]
    unfit: list[tuple[dict[str, float], str]]


@dataclass(frozen=True)
class Laid:
    """Layouts on paper: the knobs of each with its race day, and those that do not fit with the reason."""

    days: list[tuple[dict[str, float], Scenario]]
    unfit: list[tuple[dict[str, float], str]]


def lay_out(scenario: Scenario, layouts: list[dict[str, float]], until_m: float | None) -> Laid:
    """Which of these layouts fit? Nothing is raced."""
    laid = Laid([], [])
    for values in layouts:
        try:
            laid.days.append((dict(values), layout_of(scenario, values, until_m)))
        except BadInput as wrong:
            laid.unfit.append((dict(values), "; ".join(str(wrong).splitlines())))
    return laid


def race_all(laid: Laid, seeds: tuple[int, ...], store: Path, **how: Any) -> Sweep:
    """Race every layout with every seed; `how` as of `carry_out`."""
    plan = Plan({str(i): day for i, (_, day) in enumerate(laid.days)}, seeds, crowd=True)
    carry_out(plan, store, **how)
    with Store(store) as kept:
        raced = [
            (values, _sample(plan, str(i), day, kept)) for i, (values, day) in enumerate(laid.days)
        ]
    return Sweep(raced, laid.unfit)


def _sample(plan: Plan, arm: str, day: Scenario, kept: Store) -> LayoutSample:
    wanted = set(plan.seeds)
    return sample_of(day, [o for seed, o in kept.outcomes(plan.digests[arm]) if seed in wanted])


def race_layout(
    scenario: Scenario,
    values: Values,
    seeds: tuple[int, ...],
    store: Path,
    *,
    until_m: float | None = None,
    **how: Any,
) -> LayoutSample:
    """The races of one layout. Raises BadInput where it does not fit."""
    day = layout_of(scenario, values, until_m)
    return race_all(Laid([(dict(values), day)], []), seeds, store, **how).raced[0][1]


def mean_of(sample: LayoutSample, name: str) -> float:
    """The mean of one crowd figure over the races, nan where no race had it."""
    values = sample.crowd_of(name)
    return float(np.nanmean(values)) if not np.isnan(values).all() else float("nan")
