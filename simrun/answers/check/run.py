"""The course inspection: every scenario is read before the first is measured."""

from __future__ import annotations

from pathlib import Path

from simrun.answers.check.inspection import inspect
from simrun.answers.check.result import CheckResult
from simrun.answers.kind import Asked, Progress
from simrun.measure.wheel import aimed, measure_ground
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario


def answer(asked: Asked, progress: Progress) -> list[CheckResult]:
    """What `simrun check` does."""
    days = [read(file) for file in asked.files]
    folders = folders_for(asked.files, asked.out)
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
    which the ways are made equal; empty: the first gate. Raises BadInput. Check: tests/journeys/test_door.py.
    """
    report = measure_ground(scenario)
    where = None if folder is None else Path(folder)
    found = inspect(scenario, report)
    line = aimed(scenario, aim)
    return CheckResult(scenario, report, found, where, units or scenario.units, line, aim)


def folders_for(files: list[str], out: Path | None) -> list[Path | None]:
    """One file's page stands in the folder itself; of several each has a folder named after its file."""
    if out is None:
        return [None] * len(files)
    if len(files) == 1:
        return [out]
    stems = [Path(file).stem for file in files]
    again = [stems[:i].count(stem) for i, stem in enumerate(stems)]
    return [
        out / (f"{stem}-{times + 1}" if times else stem)
        for stem, times in zip(stems, again, strict=True)
    ]
