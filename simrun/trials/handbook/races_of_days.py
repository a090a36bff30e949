"""The races of the handbook's days: which, how long they take, and what of them is kept."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from simrun.trials.carry_out import carry_out
from simrun.trials.handbook.day_scenario import scenario_of
from simrun.trials.handbook.sampled_day import SampledDay
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome, race_outcome
from simrun.trials.store import Store

SEEDS_A_DAY = 1000
"""Every day has seeds of its own, so that what nobody has measured is drawn anew for every day."""

TIMED = 4
"""So many races are timed to say how long all of them will take."""


class _OutOfTimeError(Exception):
    """The minutes that were given are over; what is done is kept."""


@dataclass(frozen=True)
class DaysPlan(Plan):
    """A plan in which every arm is a day with seeds of its own; all days stay equally far."""

    def races(self) -> Iterator[tuple[str, int]]:
        """Every race as (digest, seed), all days of a round before the next round."""
        for seed in self.seeds:
            for number, digest in enumerate(self.texts, start=1):
                yield digest, SEEDS_A_DAY * number + seed


def plan_of(days: Sequence[SampledDay], seeds: int) -> DaysPlan:
    """The races of these days, so many each."""
    arms = {f"day {number}": scenario_of(day) for number, day in enumerate(days, start=1)}
    return DaysPlan(arms, tuple(range(1, seeds + 1)), from_best=True)


def expected_s(plan: DaysPlan, workers: int) -> float:
    """How long will it take with so many processes? A few races are run for it, the laws compiled."""
    some = list(plan.arms.values())[:: max(1, len(plan.arms) // TIMED)][:TIMED]
    race_outcome(some[0], 1, from_best=True)
    begun = time.perf_counter()
    for day in some:
        race_outcome(day, 1, from_best=True)
    return (time.perf_counter() - begun) / len(some) * len(plan) / workers


def run_days(
    plan: DaysPlan,
    store: Path,
    workers: int,
    minutes: float | None = None,
    progress: Callable[[float], None] | None = None,
    engine: str | None = None,
) -> bool:
    """Run what the store does not hold yet; gives whether all is there. Called again it goes on.

    minutes: stop by itself after so long. engine: as of `carry_out`.
    """
    ends = None if minutes is None else time.monotonic() + 60 * minutes

    def told(share: float) -> None:
        if progress:
            progress(share)
        if ends is not None and share < 1 and time.monotonic() > ends:
            raise _OutOfTimeError

    try:
        carry_out(plan, store, workers=workers, engine=engine, progress=told)
    except _OutOfTimeError:
        return False
    return True


def outcomes_of_days(plan: DaysPlan, store: Path) -> Iterator[list[Outcome]]:
    """What is there of every day, in the order of the days."""
    with Store(store) as kept:
        for name in plan.arms:
            yield [outcome for _, outcome in kept.outcomes(plan.digests[name])]
