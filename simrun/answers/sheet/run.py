"""The sheet for the clipboard: the plan as it is written, raced, and told mark by mark."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.kind import Asked, Progress
from simrun.answers.options import drawn_of, folder_of, folder_word, run_seeds
from simrun.answers.sheet.result import STORE, SheetResult
from simrun.answers.sheet.sheet_marks import begins_of, sheet_marks
from simrun.answers.sheet.sheet_races import run_races
from simrun.answers.sheet.sheet_rows import figures_of
from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.base.writing import ready_folder
from simrun.scenario.changes.changes_course import to_the_finish
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.changes.changes_people import with_people_named
from simrun.scenario.reader import read_races
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import part_of
from simrun.trials.workers import executor_for

PEOPLE_SEED = 1
"""Runners without a name on paper are drawn once, the same for every race: a sheet is for people."""


def answer(asked: Asked, progress: Progress) -> list[SheetResult]:
    """What `simrun sheet` does: a sheet for every team of every race that was asked for."""
    folder, days = folder_of(asked), read_races(asked.file, asked.race)
    squads = [(race, day, team) for race, day in days for team in _teams(day, asked.team)]
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "drawn": drawn_of(asked),
        }
        done = []
        for number, (race, day, team) in enumerate(squads):
            where = folder / folder_word(*filter(None, (race, team))) if len(squads) > 1 else folder
            part = part_of(progress, number / len(squads), (number + 1) / len(squads))
            told = {"seeds": run_seeds(asked), "units": asked.units, "progress": part}
            done.append(run_sheet(day, where, team, **told, **how))
        return done


def run_sheet(
    scenario: Scenario,
    folder: str | Path,
    team: str | None = None,
    seeds: Sequence[int] = tuple(range(1, 11)),
    *,
    units: str | None = None,
    drawn: bool = True,
    **how: Any,
) -> SheetResult:
    """What does this team carry to the line? The races are kept in sheet_races.db in the folder.

    The plan is that of the scenario, for the team and its people; who is not named there is made up and is
    the same in every race. drawn: inputs that nobody has measured are
    drawn with the seed. how: workers, executor or progress, as of `carry_out`. If it is stopped and run
    again, it picks up where it left off. Raises BadInput without a team of that name, or of ours.
    Check: tests/journeys/test_sheet.py.
    """
    (name,) = _teams(scenario, [team] if team else [])
    where, run = ready_folder(folder), tuple(sorted(seeds))
    known = is_named(scenario, name)
    told = scenario if known else with_people_named(scenario, name, PEOPLE_SEED)
    day = with_inputs_as(to_the_finish(told), drawn)
    roster = day.roster(run[0])
    ours = np.flatnonzero(roster.team == name)
    plan = {
        "settle": roster.opening_m[ours],
        "sit": roster.sit_m[ours],
        "move": roster.move_m[ours],
        "kick": roster.kick_m[ours],
    }
    marks = sheet_marks(day.strip, begins_of(plan))
    raced = run_races(day, marks, run, where / STORE, **how)
    found = figures_of(day, name, marks, raced, (units or day.units, known))
    return SheetResult(day, found, raced, where, found.units, left_out_in(where / STORE))


def is_named(day: Scenario, team: str) -> bool:
    """Does the race day, or its entry list, name everybody of this team?"""
    found = next(each for each in day.teams if each.name == team)
    return len(found.people) >= found.runners


def _teams(day: Scenario, asked: Sequence[str]) -> list[str]:
    """Whose sheets? Our team's unless others are named."""
    known = [team.name for team in day.teams]
    if not asked:
        if day.our_team is None:
            found, allowed = "no team is ours", "ours = true under a team, or --team"
            raise BadInput(Problem("teams.ours", found, allowed, "", day.file))
        return [day.our_team]
    for name in asked:
        if name not in known:
            near = nearest_word(name, known)
            found, allowed = f"no team {name!r}", "a team of the race"
            raise BadInput(Problem("--team", found, allowed, near, day.file))
    return list(dict.fromkeys(asked))
