"""The course inspection: every scenario is read before the first is measured."""

from __future__ import annotations

from pathlib import Path

from simrun.answers.check.inspection import inspect
from simrun.answers.check.result import CheckResult
from simrun.answers.kind import Asked, Progress
from simrun.answers.options import folder_word
from simrun.measure.wheel import aimed, measure_ground
from simrun.scenario.reader import read_races
from simrun.scenario.scenario import Scenario


def answer(asked: Asked, progress: Progress) -> list[CheckResult]:
    """What `simrun check` does."""
    found = [(file, *each) for file in asked.files for each in read_races(file, asked.race)]
    days = [day for _, _, day in found]
    words = [folder_word(*filter(None, (Path(file).stem, race))) for file, race, _ in found]
    folders = folders_for(words, asked.out)
    return [
        run_check(day, folder, units=asked.units, aim=asked.aim or "")
        for day, folder in zip(days, folders, strict=True)
    ]


def run_check(
    scenario: Scenario,
    folder: str | Path | None = None,
    *,
    units: str | None = None,
    aim: str = "",
) -> CheckResult:
    """What does this course measure, and how does that stand beside books and guidance?

    folder: where `save` writes check.html; without one it writes nothing. aim: the gate, or "finish", to
    which the ways are made equal; empty: that which the scenario aims at, else the first gate. Raises
    BadInput. Check: tests/journeys/test_door.py.
    """
    report = measure_ground(scenario)
    where = None if folder is None else Path(folder)
    found = inspect(scenario, report)
    line = aimed(scenario, aim or scenario.start.aim_at)
    return CheckResult(scenario, report, found, where, units or scenario.units, line, aim)


def folders_for(stems: list[str], out: Path | None) -> list[Path | None]:
    """One page stands in the folder itself; of several each has a folder named after its file and race."""
    if out is None:
        return [None] * len(stems)
    if len(stems) == 1:
        return [out]
    again = [stems[:i].count(stem) for i, stem in enumerate(stems)]
    return [
        out / (f"{stem}-{times + 1}" if times else stem)
        for stem, times in zip(stems, again, strict=True)
    ]
