"""What does today's draw do to us? Our team in its box against our team in the others.

Held fixed: the people of every seed, and the boxes of all teams but the one that changes places with ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.boxes.pairs import Pairs, pairs_of
from simrun.answers.boxes.sample import mark_names
from simrun.measure.finish import reaches_finish
from simrun.scenario.changes.changes_people import with_ours_again
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.how_sure import judge_of
from simrun.trials.plan import Plan

if TYPE_CHECKING:
    import pandas

AS_DRAWN, ELSEWHERE = "as drawn", "our team elsewhere"
FEWEST = 10
"""So many pairs of races at least, and then until our team stood in every other box as often."""


@dataclass(frozen=True)
class OursElsewhere:
    """Our box, and what it brings us less another, seed by seed."""

    box: int
    pairs: Pairs

    @property
    def table(self) -> pandas.DataFrame:
        """A row a checkpoint: what our box costs us against the others; points at the last."""
        import pandas as pd

        return pd.DataFrame(self.pairs.rows({"box": self.box}))


def seeds_wanted(scenario: Scenario, seeds: tuple[int, ...]) -> tuple[int, ...]:
    """Of these seeds whole rounds through all other boxes, as few as give pairs enough; or all of them."""
    others = max(1, len(scenario.start.open_boxes) - 1)
    return seeds[: others * -(-FEWEST // others)]


def is_drawn(scenario: Scenario) -> bool:
    """Is a box of ours on paper, and is there another one?"""
    ours = next((team for team in scenario.teams if team.ours), None)
    return ours is not None and ours.box is not None and len(scenario.start.open_boxes) > 1


def ours_elsewhere(
    scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any
) -> OursElsewhere | None:
    """Race our team as drawn and, with the same people, in another box; `how` as of `carry_out`.

    None where no team is ours, its box is not on paper, or there is no other box.
    """
    if not is_drawn(scenario):
        return None
    number, ours = next((i, team) for i, team in enumerate(scenario.teams) if team.ours)
    arms = {AS_DRAWN: scenario, ELSEWHERE: with_ours_again(scenario)}
    plan = Plan(arms, seeds, ours.name)
    carry_out(plan, store, **how)
    here, there = ([*outcomes_of(plan, arm, store)] for arm in arms)
    judge = judge_of(scenario, sorted(seeds))
    scored = reaches_finish(scenario.strip)
    pairs = pairs_of(mark_names(scenario), (here, there), number, scored, judge)
    return OursElsewhere(ours.box or 0, pairs)
