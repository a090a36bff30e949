"""One race: checked before it is run, run, and told."""

from __future__ import annotations

from pathlib import Path

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, folder_of
from simrun.answers.picture import view_of
from simrun.answers.race.result import RaceResult
from simrun.base.errors import BadInput
from simrun.base.writing import ready_folder
from simrun.engine.run import run_race as run_one
from simrun.pictures.film.inset import turn_called
from simrun.pictures.ink.view import View
from simrun.pictures.story.moments import whom
from simrun.scenario.scenario import Scenario
from simrun.state.frame_budget import check_frames
from simrun.trials.as_raced import front_adds_s


def answer(asked: Asked, progress: Progress) -> list[RaceResult]:
    """What `simrun race` does."""
    shown = {"view": view_of(asked), "follow": asked.follow, "page": asked.page}
    shown["gif"] = not asked.no_gif
    return [run_race(day_of(asked), folder_of(asked), asked.seed, progress, **shown)]


def run_race(
    scenario: Scenario,
    folder: str | Path,
    seed: int = 1,
    progress: Progress | None = None,
    *,
    view: View | None = None,
    follow: str | None = None,
    gif: bool = True,
    page: bool = False,
) -> RaceResult:
    """What happens in one race, and what did it cost whom?

    view, follow: what the moving picture shows; a wrong name or second is found before the race is run.
    gif, page: whether `save` writes race.gif and replay.html. A race for places is run once more with nobody
    drawn out by the front, to tell what that adds. Raises BadInput, CannotWrite,
    CannotSimulate. Check: tests/journeys/test_door.py.
    """
    view = view or View()
    check_picture(scenario, seed, view, follow)
    where = ready_folder(folder)
    shown = (view.units or scenario.units, view, follow, gif, page)
    if scenario.field.racing == "off":
        return RaceResult(run_one(scenario, seed, progress=progress), where, *shown)
    told = progress or (lambda _: None)
    recording = run_one(scenario, seed, progress=lambda done: told(0.5 * done))
    adds = front_adds_s(recording, lambda done: told(0.5 + 0.5 * done))
    return RaceResult(recording, where, *shown, front_adds_s=adds)


def check_picture(scenario: Scenario, seed: int, view: View, follow: str | None) -> None:
    """Can this be shown of the race with this seed? Nobody waits for a race to be told no; BadInput."""
    roster, clock = scenario.roster(seed), scenario.clock
    whom(roster, scenario.our_team, follow)
    view.check(clock.limit_s)
    if view.with_inset:
        turn_called(scenario.strip, view.inset)
    try:
        check_frames(clock.limit_s, clock.frame_s, clock.step_s, len(roster))
    except BadInput as wrong:
        raise wrong.in_file(scenario.file) from None
