"""Which of the assumed inputs decides the answers? Races with every group of them moved by itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from simrun.answers.evidence.experiments.arena import Array, side_by_side
from simrun.answers.evidence.experiments.corner import sharp_turn
from simrun.engine.field import settings_for
from simrun.engine.run import Race, field_of
from simrun.scenario.changes.changes_inputs import with_inputs
from simrun.scenario.tables.schema_inputs import Inputs
from simrun.sources.assumed import DECIDES
from simrun.tactics.margins import shortest_margins
from simrun.trials.hanging.radial_design import Row, row_of
from simrun.trials.hanging.total_effects import Effect, effects_of

OUTCOMES = (
    "spread of time lost between boxes at the throat",
    "inside minus outside at the sharp turn",
    "time lost at the throat by the outermost boxes",
)

TEAMS, USUAL_SHARE = 24, 0.6


@dataclass(frozen=True)
class Sensitivity:
    """P races at different inputs and what they gave.

    point (P, D): in units of the figures, in the order of DECIDES; outcome (P, 3): seconds, in the order of
    OUTCOMES. effects: by outcome, every group of inputs, the largest share first. rows: how many seeds, each
    with all of its points.
    """

    point: Array
    outcome: Array
    effects: tuple[list[Effect], ...]
    rows: int

    def positive_share(self, outcome: int, key: str, low: float, high: float) -> float:
        """In which share of the races with this input between low and high is the outcome above 0?"""
        column = self.point[:, DECIDES.index(key)]
        return float((self.outcome[(column >= low) & (column <= high), outcome] > 0).mean())


def sensitivity(rows: int = 6) -> Sensitivity:
    """How do the three outcomes follow the assumed inputs? `rows` seeds, at eleven points of two races each.

    Check: tests/unit/answers/test_evidence.py, tests/unit/trials/test_hanging.py.
    """
    design = [row_of(Inputs(), number + 1) for number in range(rows)]
    cases = [(name, row) for row in design for name in row.points]
    found = side_by_side(lambda case: outcomes(case[1].points[case[0]], case[1].seed), cases)
    by_case = {(row.seed, name): each for (name, row), each in zip(cases, found, strict=True)}
    return Sensitivity(
        point=np.array([[row.points[name][key] for key in DECIDES] for name, row in cases]),
        outcome=np.array(found),
        effects=tuple(effects_of(_of_outcome(design, by_case, o)) for o in range(len(OUTCOMES))),
        rows=rows,
    )


def _of_outcome(
    design: list[Row], found: Mapping[tuple[int, str], tuple[float, ...]], outcome: int
) -> list[dict[str, float]]:
    return [{name: found[row.seed, name][outcome] for name in row.points} for row in design]


def outcomes(values: Mapping[str, float], seed: int) -> tuple[float, float, float]:
    """Box spread, inside minus outside, and loss of the outermost boxes with these inputs, seconds."""
    lost, exit_s, line, box = [], [], [], []
    for plain in sharp_turn(TEAMS, USUAL_SHARE):
        scenario = with_inputs(plain, values)
        field = field_of(scenario, seed, frames=False).run()
        roster, settings = field.roster, settings_for(scenario, seed)
        middle = np.tile(scenario.start_line.stand_middle_m(TEAMS // 2), (len(roster), 1))
        way = shortest_margins(scenario.strip, len(roster), settings.bend_rounding_room_m)
        alone = Race(scenario, roster, middle, way, alone=True, frames=False, settings=settings)
        crossing, best = field.tape.crossing_s, alone.run().tape.crossing_s
        lost.append(crossing[:, 0] - best[:, 0])
        told = np.char.startswith(roster.team, "Told")
        exit_s.append(crossing[told, 1])
        line.append(roster.choice[told, 1])
        box.append(roster.box)
    where, seconds = np.concatenate(box), np.concatenate(lost)
    groups = [seconds[(where - 1) // 3 == group].mean() for group in range(TEAMS // 3)]
    inside = np.concatenate(line) == "inside"
    times = np.concatenate(exit_s)
    difference = times[inside].mean() - times[~inside].mean()
    outermost = seconds[(where == 1) | (where == TEAMS)].mean()
    return float(np.std(groups)), float(difference), float(outermost)
