"""A walk through the course: the sheet's races, one of them recorded, and what the coach says of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import drawn_of, folder_of, run_seeds
from simrun.answers.sheet.run import run_sheet
from simrun.answers.sheet.sheet_races import timed_day
from simrun.answers.whole.preview.chapters import chapters_of
from simrun.answers.whole.preview.page import CLIP, PHOTO, Pictures
from simrun.answers.whole.preview.result import PreviewResult
from simrun.answers.whole.preview.squads import Squad
from simrun.answers.whole.preview.to_go import to_go_of
from simrun.base.errors import BadInput, Problem
from simrun.engine.alone import nobody_alone
from simrun.engine.run import field_of, frames_of
from simrun.pictures.walk.clips import still
from simrun.pictures.walk.photographs import photograph
from simrun.scenario.checks.place_checks import place_problems
from simrun.scenario.named_files import attachment_bytes, attachment_path
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording
from simrun.trials.carry_out import part_of
from simrun.trials.workers import executor_for

MOST_PICTURES_BYTES, MOST_PICTURE_BYTES = 4_500_000, 420_000
"""All pictures of a page together, and one: the page stays below 8 MB."""

SHEET_SHARE = 0.7
"""So much of the work are the races of the sheet; the rest are those of the kick (assumed)."""

LARGEST_PICTURE_BYTES, LARGEST_CLIP_BYTES = 40_000_000, 2_000_000_000


def answer(asked: Asked, progress: Progress) -> list[PreviewResult]:
    """What `simrun preview` does."""
    day, folder = read(asked.file), folder_of(asked)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "drawn": drawn_of(asked),
        }
        how |= {"units": asked.units, "progress": progress, "seeds": run_seeds(asked)}
        return [run_preview(day, folder, asked.team, beside=Path(asked.file).parent, **how)]


def run_preview(
    scenario: Scenario,
    folder: str | Path,
    teams: Sequence[str] = (),
    seeds: Sequence[int] = tuple(range(1, 11)),
    *,
    beside: Path | None = None,
    **how: Any,
) -> PreviewResult:
    """How is our team, or are these teams, walked through the course?

    The figures are those of `run_sheet` with the same seeds, in the same store; five seconds of the first
    seed's race are shown at every place. beside: the folder in which the pictures lie that the scenario
    names (None: that of its file). how: units, drawn, workers, executor or progress, as of `run_sheet`.
    Raises BadInput, before any race, for a picture that is missing or no picture.
    Check: tests/journeys/test_preview.py.
    """
    where = beside or Path(scenario.file).parent
    problems = list(place_problems(scenario.places, scenario.strip))
    if problems:
        raise BadInput(problems).in_file(scenario.file)
    looked_at = _looked_at(scenario, where)
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
        looked_at,
        sheet.folder,
        sheet.units,
        sheet.left_out,
    )


def _squad(
    scenario: Scenario,
    folder: str | Path,
    team: str | None,
    seeds: Sequence[int],
    how: dict[str, Any],
) -> Squad:
    """One team's races: those of its sheet, and those of the kick."""
    progress = how.pop("progress")
    sheet = run_sheet(
        scenario, folder, team, seeds, progress=lambda share: progress(SHEET_SHARE * share), **how
    )
    chapters = chapters_of(sheet, scenario.places)
    last: dict[str, Any] = {
        key: how[key] for key in ("workers", "engine", "executor") if key in how
    }
    last["progress"] = lambda share: progress(SHEET_SHARE + (1 - SHEET_SHARE) * share)
    to_go = to_go_of(sheet.day, sheet.found.stand.team, seeds, sheet.folder, chapters, **last)
    return Squad(sheet, chapters, to_go)


def shown_race(day: Scenario, marks: Sequence[Any], seed: int) -> Recording:
    """One race of the sheet with its frames; alone nobody is run."""
    field = field_of(timed_day(day, marks), seed).run()
    return frames_of(field, seed, nobody_alone(field.tape.crossing_s))


def _looked_at(day: Scenario, beside: Path) -> Pictures:
    """Every picture that the scenario names, small, by its place. Raises BadInput."""
    named = [
        (number, kind, name)
        for number, place in enumerate(day.places)
        for kind, name in ((PHOTO, place.photo), (CLIP, place.clip))
        if name is not None
    ]
    most = min(MOST_PICTURE_BYTES, MOST_PICTURES_BYTES // max(1, len(named)))
    found: dict[tuple[str | float, str], bytes] = {}
    problems: list[Problem] = []
    for number, kind, name in named:
        key = f"places.{number + 1}.{kind}"
        try:
            if kind == PHOTO:
                data = attachment_bytes(beside, name, LARGEST_PICTURE_BYTES, key)
                found[day.places[number].at, kind] = photograph(data, most, key)
            else:
                path = attachment_path(beside, name, key)
                second = day.places[number].clip_from_s or 0.0
                found[day.places[number].at, kind] = still(path, second, most, key)
        except BadInput as wrong:
            problems += wrong.problems
    if problems:
        raise BadInput(problems).in_file(day.file)
    return found
