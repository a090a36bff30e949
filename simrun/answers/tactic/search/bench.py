"""Where are orders tried? Every race once, kept in the store; the others' opening goes with the seed."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simrun.answers.tactic.orders import RIVALS
from simrun.answers.tactic.search.tactic_score import Scored, scored
from simrun.runners.streams import point_number
from simrun.scenario.changes.changes_orders import with_rivals_out
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome

PRESENT = "as on paper"


def rivals_of(seed: int) -> float:
    """By how much harder does everybody else go out with this seed? The same in every arm: arms are paired.

    It goes with the point of the inputs that nobody has measured, two seeds a point, so that a whole range
    (`trials.how_sure`) covers the others' opening as well, and chance alone does not.
    """
    return RIVALS[point_number(seed) % len(RIVALS)]


class Bench:
    """One race day and one team, and every arm that is tried on them."""

    def __init__(self, day: Scenario, team: str, store: Path, **how: Any) -> None:
        self.day, self.team, self.store = day, team, store
        self.progress = how.pop("progress", None)
        self.how = how

    def run(self, arms: Mapping[Any, Scenario], seeds: tuple[int, ...]) -> dict[Any, Scored]:
        """Run these arms with these seeds: {key: what each is worth}."""
        if not arms:
            return {}
        named = {str(key): arm for key, arm in arms.items()}
        found: dict[str, dict[int, Outcome]] = {name: {} for name in named}
        done = 0
        for by in dict.fromkeys(map(rivals_of, seeds)):
            some = tuple(seed for seed in seeds if rivals_of(seed) == by)
            rivals = {name: with_rivals_out(arm, self.team, by) for name, arm in named.items()}
            plan = Plan(rivals, some, self.team)
            carry_out(plan, self.store, **self.how, progress=self._part(done, some, seeds))
            done += len(some)
            for name in named:
                outcomes = outcomes_of(plan, name, self.store)
                found[name] |= zip(sorted(some), outcomes, strict=True)
        return {
            key: scored(arm, self.team, [found[str(key)][seed] for seed in sorted(seeds)])
            for key, arm in arms.items()
        }

    def _part(self, done: int, some: tuple[int, ...], seeds: tuple[int, ...]) -> Any:
        """Progress over the races of one opening of the others, as a share of all of this run."""
        if self.progress is None:
            return None
        return lambda share: self.progress((done + share * len(some)) / len(seeds))
