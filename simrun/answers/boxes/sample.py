"""What do the races say of every box? Everybody's parts of the loss, by seed, box and line.

Two questions, told apart in every table:

- "the box": the draw is drawn again for every race, so that in whole blocks of seeds every team stands in
every box
  equally often. Answers what a box costs, whoever stands in it; the line is each runner's own choice.
- "our team": our team is put into every box in turn (who stood there takes our box) and told one line
  at all turns. Answers what our box and our order cost us. A race for every box, line and seed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.boxes.costs import costs_by_seed
from simrun.base.errors import BadInput, Problem
from simrun.measure.finish import reaches_finish
from simrun.measure.loss import PARTS
from simrun.measure.scoring import points_lost
from simrun.runners.line_choice import CHOICES
from simrun.scenario.changes.changes_people import with_draw_again, with_team_placed
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.how_sure import Judge, Sure, by_chance_alone, judge_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.stopping import Looks, Settled, doubling, look_until_clear

Array = NDArray[np.float64]

FINE_ENOUGH_S = 0.5
"""An interval no wider than this to either side answers a coach's question."""

FEWEST_SEEDS = 20
"""So many races at least, and then on to the end of a block of the draw."""

THE_BOX, OUR_TEAM = "the box", "our team"
ANY_LINE = "all"

NEAR_M = 1.0
"""A mark so little before the first narrowing or turn is that place's own."""


@dataclass(frozen=True)
class Sample:
    """What the races of one question gave: S seeds, N runners, C checkpoints, 6 parts of the loss, T teams.

    box, line (S, N): where each stood and ran; team (N,): whose runner each is. parts (S, N, C, 6): in the
    order of measure.loss.PARTS, nan for who did not arrive. points (S, T): points lost at the finish, nan
    where there are none.
    """

    question: str
    checkpoints: tuple[str, ...]
    box: NDArray[np.int64]
    line: NDArray[np.str_]
    parts: Array
    team: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    points: Array = field(default_factory=lambda: np.zeros((0, 0)))
    judge: Judge = by_chance_alone

    def by_seed(self, box: int, line: str = ANY_LINE) -> Array:
        """The mean of the runners of this box (and line), seed by seed: (S, C, 6), nan for nobody."""
        return _mean_of(self.parts, self._here(box, line))

    def singles(self, box: int, line: str = ANY_LINE) -> Array:
        """Every single runner of this box (and line), whatever the seed: (M, C, 6)."""
        return self.parts[self._here(box, line)]

    def costs(self, checkpoint: int, part: int) -> Array:
        """Every box against the average, (B, S), by a part of the loss at a mark: the mean is the cost."""
        if self.question == OUR_TEAM:
            each = np.stack([self.by_seed(box)[:, checkpoint, part] for box in self.boxes])
            return np.asarray(each - each.mean(axis=0))
        parts = self.parts[:, :, checkpoint, part][:, :, None]
        values = [_mean_of(parts, self.team == team)[:, 0] for team in range(self.teams)]
        return costs_by_seed(np.stack(values, axis=1), self._box_of_team, self.boxes)

    @property
    def points_costs(self) -> Array:
        """Every box against the average box in team points at the finish: (B, S)."""
        if np.isnan(self.points).all():
            return np.full((len(self.boxes), len(self.box)), np.nan)
        return costs_by_seed(self.points, self._box_of_team, self.boxes)

    def found(self, box: int, mark: str) -> tuple[Sure, Sure]:
        """Seconds and places that a box costs against the average box by this mark."""
        c, b = self.checkpoints.index(mark), self.boxes.index(box)
        parts = (PARTS.index("lost_s"), PARTS.index("places_lost"))
        seconds, places = (self.judge(self.costs(c, part)[b]) for part in parts)
        return seconds, places

    def found_points(self, box: int) -> Sure:
        """Team points that it costs at the finish."""
        return self.judge(self.points_costs[self.boxes.index(box)])

    def _here(self, box: int, line: str) -> NDArray[np.bool_]:
        return (self.box == box) & ((self.line == line) | (line == ANY_LINE))

    @property
    def _box_of_team(self) -> NDArray[np.int64]:
        """Where every team stood, (S, T)."""
        first = [int(np.flatnonzero(self.team == team)[0]) for team in range(self.teams)]
        return self.box[:, first]

    @property
    def teams(self) -> int:
        """How many teams ran?"""
        return int(self.team.max(initial=-1)) + 1

    @property
    def boxes(self) -> list[int]:
        """Which boxes did anybody stand in?"""
        return [int(box) for box in np.unique(self.box)]

    @property
    def lines(self) -> list[str]:
        """Which lines did anybody take? The three words first."""
        found = {str(line) for line in np.unique(self.line)}
        return [c for c in CHOICES if c in found] + sorted(found - set(CHOICES))


def _mean_of(parts: Array, here: NDArray[np.bool_]) -> Array:
    """The mean over those who are here, (S, N) or (N,), and arrived: (S, ...)."""
    told = np.broadcast_to(here, parts.shape[:2])
    counted = told.reshape(*parts.shape[:2], *[1] * (parts.ndim - 2)) & ~np.isnan(parts)
    count = counted.sum(axis=1)
    total = np.where(counted, parts, 0.0).sum(axis=1)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def whole_blocks(scenario: Scenario) -> tuple[int, ...]:
    """Seeds enough, and so many that every team stands in every open box equally often."""
    boxes = len(scenario.start.open_boxes)
    return tuple(range(1, boxes * -(-FEWEST_SEEDS // boxes) + 1))


def every_box(scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any) -> Sample:
    """Draw the boxes again for every seed and run it; `how` as of `carry_out`."""
    day = with_draw_again(scenario)
    plan = Plan({"drawn again": day}, seeds)
    carry_out(plan, store, **how)
    outcomes = list(outcomes_of(plan, "drawn again", store))
    return Sample(
        THE_BOX,
        mark_names(scenario),
        np.stack([o.box for o in outcomes]).astype(np.int64),
        np.stack([o.line for o in outcomes]),
        np.stack([_parts(o) for o in outcomes]),
        outcomes[0].team_index.astype(np.int64),
        _points(scenario, outcomes),
        judge_of(scenario, sorted(seeds)),
    )


def _points(scenario: Scenario, outcomes: Sequence[Outcome]) -> Array:
    """Points lost by seed and team; nan where the races end before the finish."""
    teams = len(scenario.teams)
    if not reaches_finish(scenario.strip):
        return np.full((len(outcomes), teams), np.nan)
    return np.stack(
        [
            points_lost(o.team_index, o.crossing_s[:, -1], o.clear_place[:, -1], teams)
            for o in outcomes
        ]
    )


def our_box(scenario: Scenario) -> int | None:
    """Which box is ours on paper, if any?"""
    return next((team.box for team in scenario.teams if team.ours), None)


def until_clear(scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any) -> Settled:
    """Run seeds, in planned looks, until it is clear what our box costs against the average box.

    At the mark of the sentence; the seeds are the budget. Clear is also what is known to half a second. Every
    race counts by itself, our box less the mean of the race, so that what was seen at one look stands at the
    next. Raises BadInput where our team has no box on paper, or the budget is too small. Check:
    tests/unit/answers/test_boxes.py.
    """
    box = our_box(scenario)
    if box is None:
        allowed = "our team (ours = true) with a box, or a fixed number of seeds"
        raise BadInput(Problem("teams.box", "none of ours", allowed, "", scenario.file))
    c = first_mark(scenario)

    def more(first: int, last: int) -> Array:
        sample = every_box(scenario, seeds[:last], store, **how)
        each = np.stack([sample.by_seed(b)[first:last, c, 0] for b in sample.boxes])
        against: Array = each[sample.boxes.index(box)] - np.nanmean(each, axis=0)
        return against

    looks = Looks(doubling(len(seeds)))
    return look_until_clear(more, looks, FINE_ENOUGH_S, judge_of(scenario, seeds))


def our_team(scenario: Scenario, seeds: tuple[int, ...], store: Path, **how: Any) -> Sample:
    """Put our team into every open box with every line, paired by seed. Raises BadInput without one."""
    team = scenario.our_team
    if team is None:
        allowed = "one team marked ours = true, or the question without --ours"
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
    stood, ran, lost = (np.concatenate(each, axis=1) for each in (box, line, parts))
    judge = judge_of(scenario, sorted(seeds))
    return Sample(OUR_TEAM, mark_names(scenario), stood, ran, lost, judge=judge)


def placements(scenario: Scenario, team: str) -> dict[tuple[int, str], Scenario]:
    """The scenario with this team in every open box and on every line: {(box, line): arm}."""
    turns = any(gate.kind == "turn" for gate in scenario.strip.gates)
    lines = CHOICES if turns else ("shortest",)
    boxes = scenario.start.open_boxes
    return {(b, line): with_team_placed(scenario, team, b, line) for b in boxes for line in lines}


def mark_names(scenario: Scenario) -> tuple[str, ...]:
    """The checkpoints by name."""
    return tuple(mark.name for mark in scenario.strip.checkpoints)


def first_mark(scenario: Scenario) -> int:
    """At which checkpoint is the start told? The first from the first narrowing or turn on, else the last."""
    strip = scenario.strip
    begins_m = strip.station_m[strip.gates[0].first_cut] if strip.gates else 0.0
    marks = [mark.station_m >= begins_m - NEAR_M for mark in strip.checkpoints]
    return marks.index(True) if True in marks else len(marks) - 1


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
