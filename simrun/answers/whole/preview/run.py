"""A walk through the course: the sheet's races, one of them recorded, and what the coach says of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of, run_seeds
from simrun.answers.sheet.run import run_sheet
from simrun.answers.sheet.sheet_races import timed_day
from simrun.answers.whole.preview.chapters import chapters_of
from simrun.answers.whole.preview.looked_at import looked_at
from simrun.answers.whole.preview.result import PreviewResult
from simrun.answers.whole.preview.sides import sides_of
from simrun.answers.whole.preview.squads import Squad
from simrun.answers.whole.preview.to_go import STORE, to_go_of
from simrun.base.errors import BadInput
from simrun.engine.alone import nobody_alone
from simrun.engine.run import field_of, frames_of
from simrun.scenario.checks.place_checks import place_problems
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording
from simrun.trials.carry_out import part_of
from simrun.trials.workers import executor_for

SHEET_SHARE, SIDES_SHARE = 0.6, 0.2
"""So much of the work are the races of the sheet and those watched at the turns; the rest are those of the
kick (assumed)."""


def answer(asked: Asked, progress: Progress) -> list[PreviewResult]:
    """What `simrun preview` does."""
    day, folder = day_of(asked), folder_of(asked)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "drawn": drawn_of(asked),
        }
        how |= {"units": asked.units, "progress": progress, "seeds": run_seeds(asked)}
        how["talk"] = asked.talk
        return [run_preview(day, folder, asked.team, beside=Path(asked.file).parent, **how)]


def run_preview(
    scenario: Scenario,
    folder: str | Path,
    teams: Sequence[str] = (),
    seeds: Sequence[int] = tuple(range(1, 11)),
    *,
    beside: Path | None = None,
    talk: int | None = None,
    **how: Any,
) -> PreviewResult:
    """How is our team, or are these teams, walked through the course?

    The figures are those of `run_sheet` with the same seeds, in the same store; five seconds of the first
    seed's race are shown at every place. beside: the folder in which the pictures lie that the scenario
    names (None: that of its file). talk: how many minutes it may last, None as long as it takes to read
    aloud. how: units, drawn, workers, executor or progress, as of `run_sheet`.
    Raises BadInput, before any race, for a picture that is missing or no picture.
    Check: tests/journeys/test_preview.py.
    """
    where = beside or Path(scenario.file).parent
    problems = list(place_problems(scenario.places, scenario.strip))
    if problems:
        raise BadInput(problems).in_file(scenario.file)
    pictures = looked_at(scenario, where)
    whole = how.pop("progress", None) or (lambda share: None)
    asked: list[str | None] = [*dict.fromkeys(teams)] or [None]
    parts = [part_of(whole, k / len(asked), (k + 1) / len(asked)) for k in range(len(asked))]
    squads = tuple(
        _squad(scenario, folder, team, seeds, {**how, "progress": part})
        for team, part in zip(asked, parts, strict=True)
    )
    sheet = squads[0].sheet
    marks = [told.mark for told in sheet.found.marks]
    return PreviewResult(
        sheet.day,
        squads,
        shown_race(sheet.day, marks, min(seeds)),
        pictures,
        sheet.folder,
        sheet.units,
        sheet.left_out,
        talk,
    )


def _squad(
    scenario: Scenario,
    folder: str | Path,
    team: str | None,
    seeds: Sequence[int],
    how: dict[str, Any],
) -> Squad:
    """One team's races: those of its sheet, those watched at the turns, and those of the kick."""
    progress = how.pop("progress")
    sheet = run_sheet(
        scenario, folder, team, seeds, progress=lambda share: progress(SHEET_SHARE * share), **how
    )
    chapters = chapters_of(sheet, scenario.places)
    whose = (sheet.day, sheet.found.stand.team, seeds)
    kept: dict[str, Any] = {
        key: how[key] for key in ("workers", "engine", "executor") if key in how
    }
    until = SHEET_SHARE + SIDES_SHARE
    kept["progress"] = part_of(progress, SHEET_SHARE, until)
    sides = sides_of(*whose, sheet.folder / STORE, chapters, **kept)
    kept["progress"] = part_of(progress, until, 1.0)
    return Squad(sheet, chapters, to_go_of(*whose, sheet.folder, chapters, **kept), sides)


def shown_race(day: Scenario, marks: Sequence[Any], seed: int) -> Recording:
    """One race of the sheet with its frames; alone nobody is run."""
    field = field_of(timed_day(day, marks), seed).run()
    return frames_of(field, seed, nobody_alone(field.tape.crossing_s))
