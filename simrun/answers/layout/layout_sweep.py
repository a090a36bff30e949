"""Which layouts are raced? Each with the same seeds, kept in one store, picked up where it stopped."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import Any

from simrun.answers.layout.fair.layout_sample import LayoutSample, sample_of
from simrun.answers.layout.layout_found import Sweep
from simrun.answers.layout.varied import SETTINGS, Setting, Values, layout_of
from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out
from simrun.trials.how_sure import points_of
from simrun.trials.plan import Plan
from simrun.trials.store import Store

MOST_LAYOUTS = 400


def ranges_of(asked: list[str], *, swept: bool = True) -> dict[str, tuple[float, ...]]:
    """What should be varied, from words such as "width=60:100:10", "throat=5 yd,6 yd", "arc=straight,arc"?

    from:to:step with both ends, or values with commas. swept: every combination is raced, so that there may
    not be too many; a search tries a few of them. Raises BadInput.
    """
    found = dict(map(_range_of, asked))
    if len(found) < len(asked):
        raise BadInput(Problem("--vary", "a name twice", "every name once"))
    count = math.prod(len(values) for values in found.values())
    if swept and count > MOST_LAYOUTS:
        raise BadInput(
            Problem(
                "--vary", f"{count} layouts", f"at most {MOST_LAYOUTS} in one sweep, or --search"
            )
        )
    return found


def _range_of(asked: str) -> tuple[str, tuple[float, ...]]:
    name, _, text = asked.partition("=")
    if name not in SETTINGS:
        allowed = "one of " + ", ".join(SETTINGS)
        raise BadInput(Problem("--vary", repr(name), allowed, nearest_word(name, SETTINGS)))
    try:
        values = _values(text, SETTINGS[name])
        if SETTINGS[name].whole and any(value != round(value) for value in values):
            raise ValueError(text)
    except ValueError:
        numbers = "whole numbers" if SETTINGS[name].whole else "numbers"
        allowed = f"{numbers}: {name}=FROM:TO:STEP or {name}=A,B,C"
        raise BadInput(Problem("--vary", repr(asked), allowed)) from None
    return name, values


def _values(text: str, setting: Setting) -> tuple[float, ...]:
    if ":" not in text:
        values = [setting.value_of(part) for part in text.split(",")]
    else:
        low, high, step = (setting.value_of(part) for part in text.split(":"))
        if not (step > 0 and low <= high and (high - low) / step < MOST_LAYOUTS):
            raise ValueError(text)
        values = [round(low + i * step, 9) for i in range(1 + int((high - low) / step + 1e-9))]
    if not all(math.isfinite(value) for value in values):
        raise ValueError(text)
    return tuple(sorted(set(values)))


def grid(ranges: Mapping[str, tuple[float, ...]]) -> list[dict[str, float]]:
    """Every combination of the values, the last name changing fastest."""
    return [dict(zip(ranges, values, strict=True)) for values in product(*ranges.values())]


@dataclass(frozen=True)
class Laid:
    """Layouts on paper: the settings of each with its race day, and those that do not fit with the reason."""

    days: list[tuple[dict[str, float], Scenario]]
    unfit: list[tuple[dict[str, float], str]]


def lay_out(
    scenario: Scenario, layouts: list[dict[str, float]], until_m: float | None, at: str = ""
) -> Laid:
    """Which of these layouts fit? Nothing is raced."""
    laid = Laid([], [])
    for values in layouts:
        try:
            laid.days.append((dict(values), layout_of(scenario, values, until_m, at)))
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
    found = {s: o for s, o in kept.outcomes(plan.digests[arm]) if s in wanted}
    seeds = list(found)
    return sample_of(day, list(found.values()), points_of(day, seeds), seeds)


def race_layout(
    scenario: Scenario,
    values: Values,
    seeds: tuple[int, ...],
    store: Path,
    *,
    until_m: float | None = None,
    at: str = "",
    **how: Any,
) -> LayoutSample:
    """The races of one layout. Raises BadInput where it does not fit."""
    day = layout_of(scenario, values, until_m, at)
    return race_all(Laid([(dict(values), day)], []), seeds, store, **how).raced[0][1]
