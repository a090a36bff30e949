"""How far can the model be trusted? Every experiment carried out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from simrun.answers.evidence.checks import GROUPS
from simrun.answers.evidence.experiments.audit import queue_audit
from simrun.answers.evidence.experiments.sensitivity import sensitivity
from simrun.answers.evidence.result import EvidenceResult
from simrun.answers.kind import Asked, Progress
from simrun.base.writing import ready_folder

FOLDER = Path("outputs") / "evidence"

ROWS = 6
"""Seeds of the sensitivity design."""

QUICK_AUDIT, FULL_AUDIT = 1, 3
"""So many races a scenario does the queue audit look at."""


def answer(asked: Asked, progress: Progress) -> list[EvidenceResult]:
    """What `simrun evidence` does."""
    return [run_evidence(asked.out or FOLDER, asked.quick, progress, units=asked.units)]


def run_evidence(
    folder: str | Path,
    quick: bool = False,
    progress: Progress | None = None,
    *,
    units: str | None = None,
) -> EvidenceResult:
    """How does the model stand against what is published? Carries out every experiment.

    quick leaves the sensitivity out and runs fewer seeds. progress is told the share that is done.
    Raises CannotWrite. Check: tests/journeys/test_evidence.py.
    """
    place = ready_folder(folder)
    told = progress or (lambda _: None)
    share = 0.8 if quick else 0.4
    found = run_groups(quick, lambda done: told(share * done))
    seeds = range(1, 1 + (QUICK_AUDIT if quick else FULL_AUDIT))
    audit = queue_audit(seeds=seeds, progress=lambda done: told(share + 0.2 * done))
    varied = None if quick else sensitivity(ROWS)
    told(1.0)
    return EvidenceResult(found, varied, quick, place, units or "metric", tuple(audit))


def run_groups(quick: bool, told: Progress) -> dict[str, Any]:
    """What did every experiment give, by its name?"""
    found = {}
    for number, each in enumerate(GROUPS):
        found[each.name] = each.run(quick)
        told((number + 1) / len(GROUPS))
    return found
