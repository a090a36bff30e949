"""Which start layout is fair? The layouts that were asked for, raced beside the present one."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simrun.answers.kind import Asked, Progress
from simrun.answers.layout.layout_found import Found, Sweep
from simrun.answers.layout.layout_search import search
from simrun.answers.layout.layout_sweep import Laid, grid, lay_out, race_all, ranges_of
from simrun.answers.layout.result import STORE, LayoutResult
from simrun.answers.layout.varied import layout_of
from simrun.answers.options import drawn_of, folder_of, folder_word, run_seeds
from simrun.base.errors import BadInput, Problem
from simrun.base.writing import ready_folder
from simrun.measure.wheel import aimed
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.reader import read_races
from simrun.scenario.scenario import Scenario
from simrun.trials.arrivals import left_out_in
from simrun.trials.carry_out import part_of
from simrun.trials.workers import executor_for


def answer(asked: Asked, progress: Progress) -> list[LayoutResult]:
    """What `simrun layout` does."""
    days, folder = read_races(asked.file, asked.race), folder_of(asked)
    ranges = [
        _aimed_ranges(day, asked) or ranges_of(asked.vary, swept=not asked.search)
        for _, day in days
    ]
    with executor_for(asked.cluster, asked.workers) as executor:
        ask = {
            "until_m": asked.until,
            "at": asked.at or "",
            "aim": asked.aim or "",
            "tries": asked.search,
            "units": asked.units,
        }
        how = {
            "workers": asked.workers,
            "engine": asked.engine,
            "executor": executor,
            "drawn": drawn_of(asked),
        }
        done = []
        for number, ((race, day), varied) in enumerate(zip(days, ranges, strict=True)):
            where = folder / folder_word(race) if len(days) > 1 else folder
            told = part_of(progress, number / len(days), (number + 1) / len(days))
            done.append(run_layout(day, where, varied, run_seeds(asked), told, **ask, **how))
        return done


def _aimed_ranges(scenario: Scenario, asked: Asked) -> dict[str, tuple[float, ...]]:
    """The one layout whose ways to the gate asked for are equal; empty if none is. Raises BadInput."""
    if asked.aim is None:
        return {}
    if asked.vary or asked.search:
        raise BadInput(Problem("--aim", "together with --vary or --search", "one or the other"))
    found = aimed(scenario, asked.aim)
    if found is None:
        raise BadInput(Problem("--aim", "a line of one box", "two boxes or more"))
    return {"aim": (found.aim_m,), "tilt": (found.tilt_deg,)}


def run_layout(
    scenario: Scenario,
    folder: str | Path,
    ranges: Mapping[str, tuple[float, ...]],
    seeds: tuple[int, ...],
    progress: Progress | None = None,
    *,
    until_m: float | None = None,
    at: str = "",
    aim: str = "",
    tries: int = 0,
    units: str | None = None,
    drawn: bool = True,
    **how: Any,
) -> LayoutResult:
    """Which layout is fair? The races are kept in layout_races.db in the folder.

    ranges: values by setting; with `tries` they are searched, without they are all raced. units: what the
    page speaks. drawn: inputs that nobody has measured are drawn with the seed. how: workers and executor as
    of `carry_out`. at: the mark at which layouts are compared. aim: the gate that
    the one layout of `ranges` makes the ways equal to. If it is stopped and run again, it picks up
    where it left off. Raises BadInput.
    Check: tests/journeys/test_layout.py.
    """
    scenario = with_inputs_as(scenario, drawn)
    laid = _laid(scenario, ranges, tries, until_m, at)
    where = ready_folder(folder)
    store = where / STORE
    raced = race_all(laid, seeds, store, progress=_part(progress, 0, tries), **how)
    now, swept, searched = raced.raced[0][1], None, None
    if tries:
        how |= {"progress": _part(progress, 1, tries), "until_m": until_m, "at": at}
        searched = search(scenario, ranges, seeds, store, tries, **how)
    elif ranges:
        swept = Sweep(raced.raced[1:], raced.unfit)
    found = Found(scenario, ranges, seeds, now, swept, searched, at, aim)
    return LayoutResult(scenario, found, where, units or scenario.units, left_out_in(store))


def _laid(
    scenario: Scenario,
    ranges: Mapping[str, tuple[float, ...]],
    tries: int,
    until_m: float | None,
    at: str,
) -> Laid:
    """The layouts to be raced at once, the present one first. Raises BadInput where there is none."""
    if tries and not ranges:
        raise BadInput(Problem("--search", "nothing that may move", "--vary NAME=FROM:TO:STEP"))
    # Refuses what cannot be raced at all, such as an end before the line.
    layout_of(scenario, {}, until_m, at)
    laid = lay_out(scenario, [{}, *(grid(ranges) if ranges and not tries else [])], until_m, at)
    if laid.unfit and len(laid.days) < 2:
        raise BadInput(Problem("--vary", "no layout that fits", laid.unfit[0][1]))
    return laid


def _part(progress: Progress | None, part: int, tries: int) -> Progress | None:
    """The present layout is a small part of a search, and all of a sweep."""
    if progress is None or not tries:
        return progress
    return lambda share: progress(0.05 * share if part == 0 else 0.05 + 0.95 * share)
