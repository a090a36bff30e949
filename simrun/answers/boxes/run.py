"""What does every box cost? The races, the questions asked of them, and the answer."""

from __future__ import annotations

from pathlib import Path

from simrun.answers.boxes.result import BoxesResult
from simrun.answers.boxes.sample import Sample, every_team, our_team, until_clear
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import folder_of, run_seeds
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_course import ending_by
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.workers import executor_for

STORE = "boxes_races.db"


def answer(asked: Asked, progress: Progress) -> list[BoxesResult]:
    """What `simrun boxes` does."""
    scenario = read(asked.file)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {"workers": asked.workers, "executor": executor, "units": asked.units}
        ask = {"ours": asked.ours, "until_m": asked.until, "clear": asked.clear}
        return [run_boxes(scenario, folder_of(asked), run_seeds(asked), progress, **ask, **how)]


def run_boxes(
    scenario: Scenario,
    folder: str | Path,
    seeds: tuple[int, ...] = tuple(range(1, 21)),
    progress: Progress | None = None,
    *,
    ours: bool = False,
    until_m: float | None = None,
    clear: bool = False,
    units: str | None = None,
    **how: object,
) -> BoxesResult:
    """What does every box cost? The races are kept in boxes_races.db in the folder.

    ours: also put our team into every box with every line, which takes a race for each of them and
    seed. until_m: end the races at the last checkpoint before this. clear: the seeds are a budget, and
    races end as soon as it is clear what our box costs. how: workers or executor, as of `carry_out`.
    If it is stopped and run again, it picks up where it left off. Raises BadInput.
    Check: tests/journeys/test_study.py.
    """
    where = ready_folder(folder)
    day = scenario if until_m is None else ending_by(scenario, until_m)
    store = where / STORE
    settled = None
    if clear:
        settled = until_clear(day, seeds, store, progress=progress, **how)
        seeds = seeds[: len(settled.values)]
    questions = [every_team, *([our_team] if ours else [])]
    samples: list[Sample] = []
    for number, ask in enumerate(questions):
        told = _part_of(progress, number, len(questions))
        samples.append(ask(day, seeds, store, progress=told, **how))
    return BoxesResult(day, tuple(samples), where, units or day.units, settled, left_out_in(store))


def _part_of(progress: Progress | None, number: int, count: int) -> Progress | None:
    return None if progress is None else lambda share: progress((number + share) / count)
