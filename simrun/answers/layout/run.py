"""Race the layouts that were asked for and write everything down: the route behind `simrun layout`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simrun.answers.layout.knobs import grid, headline, layout_of
from simrun.answers.layout.layout_measures import LayoutSample, fairer_by_s, unfairness_s
from simrun.answers.layout.layout_search import Found, search
from simrun.answers.layout.layout_sweep import Sweep, lay_out, race_all
from simrun.base.errors import BadInput, Problem
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import Progress
from simrun.trials.statistics import Estimate


@dataclass(frozen=True)
class Answer:
    """Everything a page tells: the present layout, the sweep, the search where one was asked for."""

    scenario: Scenario
    ranges: Mapping[str, tuple[float, ...]]
    seeds: tuple[int, ...]
    now: LayoutSample
    units: str
    sweep: Sweep | None = None
    found: Found | None = None

    @property
    def at(self) -> str:
        """The checkpoint at which layouts are compared."""
        return headline(self.now.day)

    def fairest(self) -> tuple[dict[str, float], LayoutSample, Estimate] | None:
        """The layout of the sweep whose boxes lie closest together, and how much closer than now."""
        if self.sweep is None:
            return None
        best = min(self.sweep.raced, key=lambda entry: unfairness_s(entry[1], self.at).mean)
        return (*best, fairer_by_s(self.now, best[1], self.at))

    def chosen(self) -> tuple[dict[str, float], LayoutSample]:
        """The layout whose stakes are told: the search's fairest, else the sweep's, else the present one."""
        if self.found is not None:
            known = {tuple(values.items()): (values, s) for values, s in self.found.front}
            return known[tuple(self.found.best.items())]
        fairest = self.fairest()
        return ({}, self.now) if fairest is None else fairest[:2]


def run_layout(
    scenario: Scenario,
    folder: str | Path,
    ranges: Mapping[str, tuple[float, ...]],
    seeds: tuple[int, ...],
    progress: Progress | None = None,
    *,
    until_m: float | None = None,
    tries: int = 0,
    units: str | None = None,
    **how: Any,
) -> list[Path]:
    """Which layout is fair? Writes layout.html, layout.csv, stakes.csv, pictures and layout_races.db.

    ranges: values by knob; with `tries` they are searched, without they are all raced. units: what the
    page speaks. `how`: workers and executor as of `carry_out`.
    Stopped and called again, it goes on with the races in layout_races.db.
    """
    from simrun.answers.layout.page import write_all
    from simrun.base.writing import ready_folder

    if tries and not ranges:
        raise BadInput(Problem("--search", "nothing that may move", "--vary NAME=FROM:TO:STEP"))
    layout_of(
        scenario, {}, until_m
    )  # refuses what cannot be raced at all, such as an end before the line
    layouts = [{}, *(grid(ranges) if ranges and not tries else [])]
    laid = lay_out(scenario, layouts, until_m)
    if laid.unfit and len(laid.days) < 2:
        raise BadInput(Problem("--vary", "no layout that fits", laid.unfit[0][1]))
    where = ready_folder(folder)
    store = where / "layout_races.db"
    raced = race_all(laid, seeds, store, progress=_part(progress, 0, tries), **how)
    now, swept = raced.raced[0][1], None
    if ranges and not tries:
        swept = Sweep(raced.raced[1:], raced.unfit)
    found = None
    if tries:
        told = _part(progress, 1, tries)
        found = search(scenario, ranges, seeds, store, tries, progress=told, until_m=until_m, **how)
    answer = Answer(scenario, ranges, seeds, now, units or scenario.units, swept, found)
    return [*write_all(answer, where), store]


def _part(progress: Progress | None, part: int, tries: int) -> Progress | None:
    """The present layout is a small part of a search, and all of a sweep."""
    if progress is None or not tries:
        return progress
    return lambda share: progress(0.05 * share if part == 0 else 0.05 + 0.95 * share)
