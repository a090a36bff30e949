"""Long work behind the page: one job at a time, with its share done, and a way to stop it.

The same functions as the command line's, in the same worker processes, into the same files.
"""

from __future__ import annotations

import threading
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from simrun.answers.kind import Result
from simrun.base.errors import BadRecording, SimrunError
from simrun.desk.day_view import problem_lines
from simrun.desk.words import BUSY, STOPPED, UNEXPECTED
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import part_of
from simrun.trials.store import Store
from simrun.trials.workers import cores

REPLAY = "replay.html"
REPLAY_SEED = 1
ANSWER, SHEET, PLANS, CARD = "answer", "sheet", "plans", "card"


class Busy(SimrunError):
    """Races are being run already."""


class _Stopped(Exception):
    """Somebody pressed stop."""


@dataclass
class Job:
    """What is being done, how far it is, and what came of it."""

    what: str
    file: str
    share: float = 0.0
    state: str = "running"
    sentence: str = ""
    told: Sequence[str] = ()
    files: Sequence[str] = ()
    stop: threading.Event = field(default_factory=threading.Event)

    def view(self) -> dict[str, Any]:
        """The job as the page shows it."""
        return {
            "what": self.what,
            "file": self.file,
            "share": round(self.share, 3),
            "state": self.state,
            "sentence": self.sentence,
            "told": list(self.told),
            "files": list(self.files),
            "stem": Path(self.file).stem,
        }


class Jobs:
    """The desk's one job. Check: tests/journeys/test_desk.py."""

    def __init__(self, workers: int | None = None) -> None:
        self.workers = workers or cores()  # processes: threads would hold up the page
        self.job: Job | None = None
        self._thread: threading.Thread | None = None
        self._lock = threading.Lock()

    def begin(self, what: str, file: str, work: Callable[[Job], Sequence[Result]]) -> Job:
        """Begin to work in the background. Raises Busy while something else is running."""
        with self._lock:
            if self._thread and self._thread.is_alive():
                raise Busy(BUSY)
            self.job = job = Job(what, file)
            self._thread = threading.Thread(target=_carry_out, args=(job, work), daemon=True)
            self._thread.start()
            return job

    def stop(self) -> None:
        """Stop at the next race that ends; what was run is kept."""
        if self.job:
            self.job.stop.set()

    def close(self) -> None:
        """Stop, and wait until the workers are gone."""
        self.stop()
        if self._thread:
            self._thread.join(timeout=10)


def told_to(job: Job) -> Callable[[float], None]:
    """The progress of a job: it is here that a job that was stopped ends."""

    def told(share: float) -> None:
        job.share = max(job.share, float(share))
        if job.stop.is_set():
            raise _Stopped

    return told


def _carry_out(job: Job, work: Callable[[Job], Sequence[Result]]) -> None:
    try:
        results = work(job)
        job.files = [
            path.name
            for result in results
            for path in result.save()
            if path.suffix in (".html", ".pdf", ".png")
        ]
        job.sentence = results[0].sentence if results else ""
        job.told = [note for result in results for note in (result.missing, *result.notes) if note]
        job.share, job.state = 1.0, "done"
    except _Stopped:
        job.state, job.told = "stopped", [STOPPED]
    except SimrunError as wrong:
        job.state, job.told = "failed", problem_lines(wrong)
    except Exception:
        traceback.print_exc()
        job.state, job.told = "failed", [UNEXPECTED]


def set_aside(folder: Path) -> None:
    """Races that another state of the engine ran are kept under another name: at the desk nobody can choose.

    Check: tests/unit/desk/test_estimates.py.
    """
    for path in sorted(folder.glob("*_races.db")):
        try:
            Store(path, writing=True).close()
        except BadRecording:
            path.replace(path.with_name(f"{path.stem}_before.db"))


def answer_work(
    day: Scenario, folder: Path, minutes: float, workers: int | None
) -> Callable[[Job], Sequence[Result]]:
    """What `simrun brief` says of the day, and one of its races as a replay."""

    def work(job: Job) -> Sequence[Result]:
        from simrun.answers.whole.brief.run import run_brief

        set_aside(folder)
        told = told_to(job)
        how: dict[str, Any] = {"workers": workers, "progress": part_of(told, 0.0, 0.85)}
        brief = run_brief(day, folder, minutes=minutes, **how)
        _write_replay(day, folder, told)
        return [brief]

    return work


def _write_replay(day: Scenario, folder: Path, told: Callable[[float], None]) -> None:
    from simrun.engine.run import run_race
    from simrun.pictures.replay.replay_page import write_page

    recording = run_race(day, REPLAY_SEED, progress=part_of(told, 0.85, 0.95))
    write_page(recording, folder / REPLAY, follow=day.our_team)
    told(0.96)


def plans_work(
    day: Scenario, other: Scenario, folder: Path, minutes: float, workers: int | None
) -> Callable[[Job], Sequence[Result]]:
    """What `simrun brief` says of two plans, the second against the first; both on one replay."""

    def work(job: Job) -> Sequence[Result]:
        from simrun.answers.whole.brief.run import run_brief
        from simrun.engine.run import run_race
        from simrun.pictures.replay.replay_page import write_page

        set_aside(folder)
        told = told_to(job)
        how: dict[str, Any] = {"workers": workers, "progress": part_of(told, 0.0, 0.8)}
        brief = run_brief(day, folder, other, minutes=minutes, **how)
        first = run_race(day, REPLAY_SEED, progress=part_of(told, 0.8, 0.87))
        second = run_race(other, REPLAY_SEED, progress=part_of(told, 0.87, 0.95))
        write_page(first, folder / REPLAY, other=second, follow=day.our_team)
        return [brief]

    return work


def sheet_work(
    day: Scenario, folder: Path, workers: int | None
) -> Callable[[Job], Sequence[Result]]:
    """What `simrun sheet` writes for our team."""

    def work(job: Job) -> Sequence[Result]:
        from simrun.answers.sheet.run import run_sheet

        set_aside(folder)
        return [run_sheet(day, folder, workers=workers, progress=told_to(job))]

    return work


def card_work(
    day: Scenario, folder: Path, workers: int | None
) -> Callable[[Job], Sequence[Result]]:
    """What `simrun card` writes: the map colored by where passing was possible, and its notes."""

    def work(job: Job) -> Sequence[Result]:
        from simrun.answers.card.run import run_card

        set_aside(folder)
        return [run_card(day, folder, workers=workers, progress=told_to(job))]

    return work
