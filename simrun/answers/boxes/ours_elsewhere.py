"""What does today's draw do to us? Our team in its box against our team in the others.

Held fixed: the people of every seed, and the boxes of all teams but the one that changes places with ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.boxes.points import points_of
from simrun.answers.boxes.sample import mark_names
from simrun.measure.finish import reaches_finish
from simrun.scenario.changes.changes_people import with_ours_again
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.how_sure import Judge, Sure, judge_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

AS_DRAWN, ELSEWHERE = "as drawn", "our team elsewhere"
NAMES = ("cost_s", "cost_places", "cost_points")
FEWEST = 10
"""So many pairs of races at least, and then until our team stood in every other box as often."""


@dataclass(frozen=True)
class OursElsewhere:
    """Our box less another, seed by seed: seconds and places (S, C) a runner, points (S,)."""

    box: int
    checkpoints: tuple[str, ...]
    seconds: Array
    places: Array
    points: Array
    judge: Judge

    def found(self, mark: str) -> tuple[Sure, Sure]:
        """Seconds and places that our box costs our team by this mark."""
        c = self.checkpoints.index(mark)
        return self.judge(self.seconds[:, c]), self.judge(self.places[:, c])

    @property
    def found_points(self) -> Sure:
        """Points that it costs at the last mark."""
        return self.judge(self.points)

    @property
    def table(self) -> pandas.DataFrame:
        """A row a checkpoint: what our box costs us against the others; points at the last.

        Each with its 95 % interval over the pairs of races (_low, _high), its p-value (_p) and how many
        pairs.
        """
        import pandas as pd

        rows: list[dict[str, object]] = []
        for mark in self.checkpoints:
            points = self.found_points if mark == self.checkpoints[-1] else self.judge([])
            found = dict(zip(NAMES, (*self.found(mark), points), strict=True))
            row: dict[str, object] = {"box": self.box, "checkpoint": mark}
            for name, sure in found.items():
                row |= {name: sure.mean, f"{name}_low": sure.low, f"{name}_high": sure.high}
                row |= {f"{name}_chance_low": sure.by_chance.low}
                row |= {f"{name}_chance_high": sure.by_chance.high}
                row |= {f"{name}_p": sure.p_value, f"{name}_pairs": sure.count}
            rows.append(row)
        return pd.DataFrame(rows)


def seeds_wanted(scenario: Scenario, seeds: tuple[int, ...]) -> tuple[int, ...]:
    """Of these seeds whole rounds through all other boxes, as few as give pairs enough; or all of them."""
    others = max(1, len(scenario.start.open_boxes) - 1)
    return seeds[: others * -(-FEWEST // others)]


def ours_elsewhere(
    scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any
) -> OursElsewhere | None:
    """Race our team as drawn and, with the same people, in another box; `how` as of `carry_out`.

    None where no team is ours, its box is not on paper, or there is no other box.
    """
    ours = next((i for i, team in enumerate(scenario.teams) if team.ours), None)
    box = None if ours is None else scenario.teams[ours].box
    if ours is None or box is None or len(scenario.start.open_boxes) < 2:
        return None
    arms = {AS_DRAWN: scenario, ELSEWHERE: with_ours_again(scenario)}
    plan = Plan(arms, seeds, scenario.teams[ours].name)
    carry_out(plan, store, **how)
    here, there = ([*outcomes_of(plan, arm, store)] for arm in (AS_DRAWN, ELSEWHERE))
    scored = reaches_finish(scenario.strip)
    pairs = [(_of(a, ours, scored), _of(b, ours, scored)) for a, b in zip(here, there, strict=True)]
    seconds, places, points = (np.stack([a[part] - b[part] for a, b in pairs]) for part in range(3))
    judge = judge_of(scenario, sorted(seeds))
    return OursElsewhere(box, mark_names(scenario), seconds, places, points, judge)


def _of(outcome: Outcome, ours: int, scored: bool) -> tuple[Array, Array, Array]:
    """Mean seconds lost and mean place of our team by mark, (C,) each, and its points."""
    rows = outcome.team_index == ours
    lost = outcome.crossing_s[rows] - outcome.best_s[rows]
    points = points_of(outcome, int(outcome.team_index.max()) + 1)[ours]
    return _mean(lost), _mean(outcome.place[rows]), np.asarray(points if scored else np.nan)


def _mean(values: Array) -> Array:
    """The mean over runners of each mark, nan where not all arrived: a pair is of the same people."""
    return np.asarray(values.mean(axis=0))
