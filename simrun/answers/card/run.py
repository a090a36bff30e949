"""The course card: a few races, and where passing was possible in them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.card.card_races import run_races, stations_of
from simrun.answers.card.result import STORE, CardResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import day_of, drawn_of, folder_of
from simrun.base.writing import ready_folder
from simrun.measure.stretches import stretches
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.workers import executor_for


def answer(asked: Asked, progress: Progress) -> list[CardResult]:
    """What `simrun card` does."""
    scenario = day_of(asked)
    with executor_for(asked.cluster, asked.workers) as executor:
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "progress": progress,
        }
        told = {"units": asked.units, "paper": asked.paper, "drawn": drawn_of(asked)}
        return [run_card(scenario, folder_of(asked), asked.seeds, **told, **how)]


def run_card(
    scenario: Scenario,
    folder: str | Path,
    seeds: int = 5,
    *,
    units: str | None = None,
    paper: str | None = None,
    drawn: bool = True,
    **how: Any,
) -> CardResult:
    """Where can a runner pass, stretch by stretch? The races are kept in card_races.db in the folder.

    paper: "a4" or "letter", by default what goes with the units. drawn: inputs that nobody has measured are
    drawn with the seed. how: workers, executor or progress, as of `carry_out`. If it is stopped and run
    again, it picks up where it left off. Raises SimrunError.
    Check: tests/journeys/test_course_and_card.py.
    """
    where, scenario = ready_folder(folder), with_inputs_as(scenario, drawn)
    found = stretches(scenario.strip)
    stations, numbers = stations_of(found), tuple(range(1, seeds + 1))
    timed = run_races(scenario, stations, numbers, store=where / STORE, **how)
    spoken = units or scenario.units
    sheet = paper or ("letter" if spoken == "us" else "a4")
    missing = left_out_in(where / STORE)
    return CardResult(scenario, found, timed, tuple(stations), where, spoken, sheet, missing)
