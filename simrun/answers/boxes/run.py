"""What does every box cost? The races, the questions asked of them, and the answer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.boxes.ours_elsewhere import ours_elsewhere, seeds_wanted
from simrun.answers.boxes.result import BoxesResult
from simrun.answers.boxes.sample import every_box, our_team, until_clear, whole_blocks
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of, run_seeds
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_course import ending_by, to_the_finish
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import part_of
from simrun.trials.workers import executor_for

STORE = "boxes_races.db"


def answer(asked: Asked, progress: Progress) -> list[BoxesResult]:
    """What `simrun boxes` does."""
    scenario = day_of(asked)
    seeds = None if asked.seeds is None else run_seeds(asked)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "units": asked.units,
        }
        ask = {"ours": asked.ours, "until_m": asked.until, "clear": asked.clear}
        ask["drawn"] = drawn_of(asked)
        return [run_boxes(scenario, folder_of(asked), seeds, progress, **ask, **how)]


def run_boxes(
    scenario: Scenario,
    folder: str | Path,
    seeds: tuple[int, ...] | None = None,
    progress: Progress | None = None,
    *,
    ours: bool = False,
    until_m: float | None = None,
    clear: bool = False,
    drawn: bool = True,
    units: str | None = None,
    **how: Any,
) -> BoxesResult:
    """What does every box cost? The races are kept in boxes_races.db in the folder.

    Two questions: the boxes drawn again for every race, the same teams in all of them; and, where our team
    has a box on paper, our team there against our team in the others. seeds: None for so many that every team
    stands in every box equally often. ours: also put our team into every box with every line, which takes a
    race for each of them and seed. until_m: end the races at the last checkpoint before this; without it they
    are run to the finish. clear: the seeds are a budget, and races end as soon as it is clear what our box
    costs. how: workers or executor, as of `carry_out`. If it is stopped and run again, it picks up where it
    left off. Raises BadInput. Check: tests/journeys/test_what_a_box_costs.py.
    """
    if len(scenario.start.open_boxes) < 2:
        allowed = "two open boxes or more: a box is held against the others"
        raise BadInput(Problem("start.boxes", "one open box", allowed, "", scenario.file))
    where = ready_folder(folder)
    day = with_inputs_as(scenario, drawn)
    day = to_the_finish(day) if until_m is None else ending_by(day, until_m)
    store = where / STORE
    seeds = whole_blocks(day) if seeds is None else seeds
    settled = None
    if clear:
        settled = until_clear(day, seeds, store, progress=progress, **how)
        seeds = seeds[: len(settled.values)]
    shares = _Shares(progress, (0.6, 0.7 if ours else 1.0))
    samples = [every_box(day, seeds, store, progress=shares.part(0), **how)]
    pair = ours_elsewhere(day, seeds_wanted(day, seeds), store, progress=shares.part(1), **how)
    if ours:
        samples.append(our_team(day, seeds, store, progress=shares.part(2), **how))
    left_out = left_out_in(store)
    return BoxesResult(day, tuple(samples), where, units or day.units, pair, settled, left_out)


class _Shares:
    """One progress for several studies: where each of them ends, as a share of the whole."""

    def __init__(self, progress: Progress | None, ends: tuple[float, ...]) -> None:
        self.progress, self.ends = progress, (0.0, *ends, 1.0)

    def part(self, number: int) -> Progress | None:
        """The progress of one study, from 0 to 1 of its own."""
        return part_of(self.progress, *self.ends[number : number + 2])
