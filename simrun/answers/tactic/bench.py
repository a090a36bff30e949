"""Where are orders tried? Every race once, kept in the store, each arm scored against its base."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simrun.answers.tactic.tactic_score import Scored, scored
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan

PRESENT = "as on paper"
PAYBACK = "tactic.payback_share"


class Bench:
    """One race day and one team, and every arm that is tried on them."""

    def __init__(self, day: Scenario, team: str, store: Path, **how: Any) -> None:
        self.day, self.team, self.store, self.how = day, team, store, how
        self.payback = figure(PAYBACK).value

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
