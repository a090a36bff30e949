"""What do the races say of every box? Everybody's parts of the loss, by seed, box and line.

Two questions, told apart in every table:

- "every team": the scenario is run as it is, seed by seed, and each team's loss counts for the box it
  stands in. Answers what a box costs in such a field, and what those lose who take each line. A dozen
  races say something of all boxes; the line is each runner's own choice, not an order to a team.
- "our team": our team is put into every box in turn (who stood there takes our box) and told one line
  at all turns. Answers what our box and our order cost us. A race for every box, line and seed.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.measure.loss import PARTS
from simrun.runners.line_choice import CHOICES
from simrun.scenario.changes.changes_people import with_team_placed
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.stopping import Looks, Settled, doubling, look_until_clear

Array = NDArray[np.float64]

FINE_ENOUGH_S = 0.5
"""An interval no wider than this to either side answers a coach's question."""

EVERY_TEAM, OUR_TEAM = "every team", "our team"
ANY_LINE = "all"


@dataclass(frozen=True)
class Sample:
    """What the races of one question gave: S seeds, N runners, C checkpoints, 6 parts of the loss.

    box, line (S, N): where each stood and ran. parts (S, N, C, 6): in the order of measure.loss.PARTS,
    nan for who did not arrive.
    """

    question: str
    checkpoints: tuple[str, ...]
    box: NDArray[np.int64]
    line: NDArray[np.str_]
    parts: Array

    def by_seed(self, box: int, line: str = ANY_LINE) -> Array:
        """The mean of the runners of this box (and line), seed by seed: (S, C, 6), nan for nobody."""
        here = self._here(box, line)[:, :, None, None] & ~np.isnan(self.parts)
        count = here.sum(axis=1)
        total = np.where(here, self.parts, 0.0).sum(axis=1)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan)

    def singles(self, box: int, line: str = ANY_LINE) -> Array:
        """Every single runner of this box (and line), whatever the seed: (M, C, 6)."""
        return self.parts[self._here(box, line)]

    def _here(self, box: int, line: str) -> NDArray[np.bool_]:
        return (self.box == box) & ((self.line == line) | (line == ANY_LINE))

    @property
    def boxes(self) -> list[int]:
        """Which boxes did anybody stand in?"""
        return [int(box) for box in np.unique(self.box)]

    @property
    def lines(self) -> list[str]:
        """Which lines did anybody take? The three words first."""
        found = {str(line) for line in np.unique(self.line)}
        return [c for c in CHOICES if c in found] + sorted(found - set(CHOICES))


def every_team(scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any) -> Sample:
    """Run the scenario as it is with every seed; `how` as of `carry_out`."""
    plan = Plan({"as told": scenario}, seeds)
    carry_out(plan, store, **how)
    outcomes = list(outcomes_of(plan, "as told", store))
    return Sample(
        EVERY_TEAM,
        _names(scenario),
        np.stack([o.box for o in outcomes]).astype(np.int64),
        np.stack([o.line for o in outcomes]),
        np.stack([_parts(o) for o in outcomes]),
    )


def until_clear(scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any) -> Settled:
    """Run seeds, in planned looks, until it is clear what our box costs against the mean of all boxes.

    At the last checkpoint; the seeds are the budget. Clear is also what is known to half a second. Raises
    BadInput where our team has no box on paper, or the budget is too small. Check:
    tests/unit/answers/test_boxes.py.
    """
    box = next((team.box for team in scenario.teams if team.ours), None)
    if box is None:
        allowed = "our team (ours = true) with a box, or a fixed number of seeds"
        raise BadInput(Problem("teams.box", "none of ours", allowed, "", scenario.file))

    def more(first: int, last: int) -> Array:
        sample = every_team(scenario, seeds[:last], store, **how)
        each = np.stack([sample.by_seed(b)[first:last, -1, 0] for b in sample.boxes])
        against: Array = sample.by_seed(box)[first:last, -1, 0] - each.mean(axis=0)
        return against

    return look_until_clear(more, Looks(doubling(len(seeds))), FINE_ENOUGH_S)


def our_team(scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any) -> Sample:
    """Put our team into every open box with every line, paired by seed. Raises BadInput without one."""
    team = scenario.our_team
    if team is None:
        allowed = "one team marked ours = true, or the question of every team"
        raise BadInput(Problem("teams.ours", "no team", allowed, "", scenario.file))
    arms = placements(scenario, team)
    plan = Plan({f"{box} {line}": arm for (box, line), arm in arms.items()}, seeds, team)
    carry_out(plan, store, **how)
    index = [t.name for t in scenario.teams].index(team)
    box, line, parts = [], [], []
    for b, told in arms:
        ours = [_parts(o)[o.team_index == index] for o in outcomes_of(plan, f"{b} {told}", store)]
        parts.append(np.stack(ours))
        box.append(np.full(parts[-1].shape[:2], b))
        line.append(np.full(parts[-1].shape[:2], told, dtype="U12"))
    sides = (np.concatenate(each, axis=1) for each in (box, line, parts))
    return Sample(OUR_TEAM, _names(scenario), *sides)


def placements(scenario: Scenario, team: str) -> dict[tuple[int, str], Scenario]:
    """The scenario with this team in every open box and on every line: {(box, line): arm}."""
    turns = any(gate.kind == "turn" for gate in scenario.strip.gates)
    boxes = [b for b in range(1, scenario.start.boxes + 1) if b not in scenario.start.empty]
    lines = CHOICES if turns else ("shortest",)
    return {(b, line): with_team_placed(scenario, team, b, line) for b in boxes for line in lines}


def _names(scenario: Scenario) -> tuple[str, ...]:
    return tuple(mark.name for mark in scenario.strip.checkpoints)


def _parts(outcome: Outcome) -> Array:
    """The six parts of everybody's loss, (N, C, 6)."""
    o = outcome
    values = {
        "lost_s": o.crossing_s - o.best_s,
        "box_s": o.shortest_s - o.best_s,
        "line_s": o.alone_s - o.shortest_s,
        "traffic_s": o.crossing_s - o.raced_s,
        "places_lost": o.place - o.clear_place,
        "racing_s": o.raced_s - o.alone_s,
    }
    arrived = ~np.isnan(values["lost_s"])
    return np.stack([np.where(arrived, values[part], np.nan) for part in PARTS], axis=-1)
