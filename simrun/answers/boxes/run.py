"""What does every box, and every line from it, cost? Seconds, metres and places, with how sure we are.

Two questions, told apart in every table:

- "every team": the scenario is run as it is, seed by seed, and each team's loss counts for the box it
  stands in. Answers what a box costs in such a field, and what those lose who take each line. A dozen
  races say something of all boxes; the line is each runner's own choice, not an order to a team.
- "our team": our team is put into every box in turn (who stood there takes our box) and told one line
  at all turns. Answers what our box and our order cost us. A race for every box, line and seed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.measure.loss import PARTS
from simrun.measure.wheel import measure_ground
from simrun.runners.line_choice import CHOICES
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import Progress, carry_out, outcomes_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.statistics import Best, best_of, estimate, holm, single_range
from simrun.trials.stopping import Looks, Settled, doubling, look_until_clear

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

FINE_ENOUGH_S = 0.5
"""An interval no wider than this to either side answers a coach's question."""

EVERY_TEAM, OUR_TEAM = "every team", "our team"
ANY_LINE = "all"


@dataclass(frozen=True)
class Sample:
    """What the races of one question gave: S seeds, N runners, C checkpoints, 5 parts of the loss.

    box, line (S, N): where each stood and ran. parts (S, N, C, 5): in the order of measure.loss.PARTS,
    nan for who did not arrive.
    """

    question: str
    checkpoints: tuple[str, ...]
    box: NDArray[np.int64]
    line: NDArray[np.str_]
    parts: Array

    def by_seed(self, box: int, line: str = ANY_LINE) -> Array:
        """The mean of the runners of this box (and line), seed by seed: (S, C, 5), nan for nobody."""
        here = self._here(box, line)[:, :, None, None] & ~np.isnan(self.parts)
        count = here.sum(axis=1)
        total = np.where(here, self.parts, 0.0).sum(axis=1)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan)

    def singles(self, box: int, line: str = ANY_LINE) -> Array:
        """Every single runner of this box (and line), whatever the seed: (M, C, 5)."""
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
    BadInput where our team has no box on paper, or the budget is too small. Check: test_study_boxes.py.
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
    return {(b, line): placed(scenario, team, b, line) for b in boxes for line in lines}


def placed(scenario: Scenario, team: str, box: int, line: str) -> Scenario:
    """The scenario with this team in this box, told this line at all turns.

    Whoever stood in the box takes the team's own; all others stay. "shortest": no order is given.
    """
    ours = next(t for t in scenario.teams if t.name == team)
    other = next((t.name for t in scenario.teams if t.box == box and t.name != team), None)
    changes: dict[str, object] = {f"teams.{team}.box": box}
    if other and ours.box:
        changes[f"teams.{other}.box"] = ours.box
    if line in CHOICES:
        changes[f"teams.{team}.line"] = line
        tables: list[dict[str, Any]] = scenario.document.get("teams", [])
        written = next((table for table in tables if table["name"].strip() == team), {})
        changes |= {f"teams.{team}.lines": None} if "lines" in written else {}
        people = [dict(person) for person in written.get("people", [])]
        if any(person.pop("line", None) for person in people):
            changes[f"teams.{team}.people"] = people
    return scenario.changed(changes)


def shortened(scenario: Scenario, until_m: float) -> Scenario:
    """The scenario without the checkpoints beyond this: its races end at the last that is left.

    Unchanged where none would be left. Checkpoints of a drawing stay.
    """
    marks = scenario.document.get("course", {}).get("checkpoints", [])
    kept = [
        written
        for written, mark in zip(marks, scenario.course.checkpoints, strict=True)
        if mark.at_m <= until_m
    ]
    return scenario.changed({"course.checkpoints": kept}) if kept else scenario


def _names(scenario: Scenario) -> tuple[str, ...]:
    return tuple(mark.name for mark in scenario.strip.checkpoints)


def _parts(outcome: Outcome) -> Array:
    """The five parts of everybody's loss, (N, C, 5)."""
    o = outcome
    values = {
        "lost_s": o.crossing_s - o.best_s,
        "box_s": o.shortest_s - o.best_s,
        "line_s": o.alone_s - o.shortest_s,
        "traffic_s": o.crossing_s - o.alone_s,
        "places_lost": o.place - o.clear_place,
    }
    arrived = ~np.isnan(values["lost_s"])
    return np.stack([np.where(arrived, values[part], np.nan) for part in PARTS], axis=-1)


def cells(sample: Sample, scenario: Scenario) -> pandas.DataFrame:
    """One row a box, line and checkpoint: means with 95 % intervals over seeds, ranges of single runners.

    Per part: _mean, _low, _high (interval of the mean), _p10, _p90 (eight of ten single runners).
    extra_m: metres further than from the best box, by the wheel, to the finish. against_s: the box's
    mean less the mean of all boxes in the same race, with interval and a p-value corrected for all
    boxes having been looked at (Holm), for line "all" only. seeds: races with anybody in the cell.
    """
    import pandas as pd

    metres = {box.box: box for box in measure_ground(scenario).boxes}
    rows = []
    for line in [ANY_LINE, *sample.lines]:
        for box in sample.boxes:
            wheel = {
                "extra_m_first_gate": metres[box].to_first_gate_m,
                "extra_m_finish": metres[box].to_finish_m,
            }
            rows += [row | wheel for row in _rows(sample, box, line)]
    table = pd.DataFrame(rows)
    _add_against(table, sample)
    return table


def _rows(sample: Sample, box: int, line: str) -> Iterator[dict[str, Any]]:
    seeds, singles = sample.by_seed(box, line), sample.singles(box, line)
    for c, name in enumerate(sample.checkpoints):
        arrived = int((~np.isnan(singles[:, c, 0])).sum())
        row: dict[str, Any] = {
            "question": sample.question,
            "box": box,
            "line": line,
            "checkpoint": name,
            "seeds": int((~np.isnan(seeds[:, c, 0])).sum()),
            "runners": arrived,
            "not_arrived": len(singles) - arrived,
        }
        for p, part in enumerate(PARTS):
            found, (low, high) = estimate(seeds[:, c, p]), single_range(singles[:, c, p])
            row |= {
                f"{part}_mean": found.mean,
                f"{part}_low": found.low,
                f"{part}_high": found.high,
            }
            row |= {f"{part}_p10": low, f"{part}_p90": high}
        yield row


def _add_against(table: pandas.DataFrame, sample: Sample) -> None:
    """Every box against the mean of all boxes of the same race, at every checkpoint."""
    names = ["against_s", "against_s_low", "against_s_high", "against_p"]
    table[names] = np.nan
    lost = np.stack([sample.by_seed(box)[:, :, 0] for box in sample.boxes])
    over = lost - lost.mean(axis=0)
    for c, name in enumerate(sample.checkpoints):
        found = [estimate(over[b, :, c]) for b in range(len(sample.boxes))]
        honest = holm([f.p_value for f in found])
        for box, f, p in zip(sample.boxes, found, honest, strict=True):
            here = (table.box == box) & (table.checkpoint == name) & (table.line == ANY_LINE)
            table.loc[here, names] = [f.mean, f.low, f.high, p]


def best_cell(sample: Sample, checkpoint: int = -1, line: str | None = None) -> Best:
    """Which box (with `line` None: box and line) loses least by a checkpoint, and is that beyond luck?"""
    lines = sample.lines if line is None else [line]
    named = {
        f"box {box}" + (f", {told}" if line is None else ""): sample.by_seed(box, told)
        for box in sample.boxes
        for told in lines
    }
    return best_of({name: seeds[:, checkpoint, 0] for name, seeds in named.items()})


def run_boxes(
    scenario: Scenario,
    folder: str | Path,
    seeds: tuple[int, ...] = tuple(range(1, 21)),
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    ours: bool = False,
    until_m: float | None = None,
    clear: bool = False,
    executor: Any = None,
) -> list[Path]:
    """What does every box cost? Writes boxes.csv, boxes.png, boxes_map.png, boxes.html, boxes_races.db.

    ours: also put our team into every box with every line, which takes a race for each of them and
    seed. until_m: end the races at the last checkpoint before this. clear: the seeds are a budget, and
    races end as soon as it is clear what our box costs. Stopped and called again, it goes
    on with the races in boxes_races.db.
    """
    from simrun.answers.boxes.page import write_all
    from simrun.base.writing import ready_folder

    where = ready_folder(folder)
    day = scenario if until_m is None else shortened(scenario, until_m)
    store = where / "boxes_races.db"
    told_clear = None
    if clear:
        how = {"workers": workers, "progress": progress, "executor": executor}
        told_clear = until_clear(day, seeds, store, **how)
        seeds = seeds[: len(told_clear.values)]
    questions: list[Callable[..., Sample]] = [every_team, *([our_team] if ours else [])]
    samples = []
    for number, ask in enumerate(questions):
        told = _part_of(progress, number, len(questions))
        samples.append(ask(day, seeds, store, workers=workers, progress=told, executor=executor))
    return [*write_all(samples, day, where, told_clear), store]


def _part_of(progress: Progress | None, number: int, count: int) -> Progress | None:
    return None if progress is None else lambda share: progress((number + share) / count)
