"""The races of the handbook's days: how long they take, who runs them, and what of them is kept.

A day's races are run together and become rows of the table at once; what is done stands in a file, a line a
day, so that a run that was stopped goes on.
"""

from __future__ import annotations

import json
import math
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from itertools import islice
from pathlib import Path
from typing import Any

from simrun.base.errors import BadRecording, CannotWrite
from simrun.base.version import VERSION
from simrun.engine.batch.together import CPU, GPU
from simrun.state.engine_digest import running_engine
from simrun.trials.handbook.day_scenario import scenario_of
from simrun.trials.handbook.handbook_table import average_lost_s, day_rows
from simrun.trials.handbook.sampled_day import SampledDay
from simrun.trials.races import Outcome, race_outcome, run_stages, stages_of
from simrun.trials.workers import Crew, group_of

SEEDS_A_DAY = 1000
"""Every day has seeds of its own, so that what nobody has measured is drawn anew for every day."""

TIMED = 4
"""So many races are timed to say how long all of them will take."""

CARD_RACES_S = 56.0
"""So many races of these days a second were run on one card with 16 processors beside it, see
shared/handbook/README.md; before it begins, that is what can be said."""

AHEAD = 2
"""So many pieces of work a worker are handed over ahead of time."""

Numbered = tuple[int, SampledDay]


def expected_s(days: Sequence[Numbered], seeds: int, workers: int, engine: str) -> float:
    """How long will it take? By the processor: a few races are run for it, the laws compiled."""
    if engine == GPU:
        return len(days) * seeds / CARD_RACES_S
    some = [scenario_of(day) for _, day in days[:: max(1, len(days) // TIMED)][:TIMED]]
    race_outcome(some[0], 1, from_best=True)
    begun = time.perf_counter()
    for day in some:
        race_outcome(day, 1, from_best=True)
    return (time.perf_counter() - begun) / len(some) * len(days) * seeds / workers


def outcomes_of(days: Sequence[Numbered], seeds: int, engine: str = CPU) -> list[list[Outcome]]:
    """The races of these days, so many each, all of them run together."""
    many = []
    for number, day in days:
        scenario = scenario_of(day)
        first = SEEDS_A_DAY * number + 1
        many += [stages_of(scenario, first + k, from_best=True) for k in range(seeds)]
    found = run_stages(many, engine)
    return [found[k : k + seeds] for k in range(0, len(found), seeds)]


def run_to_file(days: Sequence[Numbered], seeds: int, engine: str, path: str) -> None:
    """In a worker: run the races of some days, and write a line a day."""
    lines = [
        json.dumps(
            {
                "day": number,
                "lost_s": average_lost_s(outcomes),
                "rows": day_rows(number, outcomes),
            }
        )
        for (number, _), outcomes in zip(days, outcomes_of(days, seeds, engine), strict=True)
    ]
    Path(path).write_text("\n".join(lines) + "\n", encoding="utf-8")


class KeptDays:
    """The days that were run: a file whose first line says how, then a line a day.

    Raises BadRecording where they were run another way: by another engine or state of it, or so many other
    races a day. Days of two engines are never mixed.
    """

    def __init__(self, path: Path, seeds: int, engine: str) -> None:
        self.path = path
        self.head: dict[str, Any] = {
            "engine": running_engine(),
            "on": engine,
            "version": VERSION,
            "races": seeds,
        }
        try:
            if not path.is_file():
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(json.dumps(self.head) + "\n", encoding="utf-8")
            without_torn_end(path)
            with path.open(encoding="utf-8") as file:
                found = json.loads(file.readline())
        except OSError as refused:
            raise CannotWrite(f"{path}: cannot be written: {refused.strerror}") from refused
        if found != self.head:
            differs = ", ".join(f"{key} {found.get(key)!r}" for key in self.head)
            raise BadRecording(
                f"{path}: days run otherwise ({differs}); choose another folder, or delete the file"
            )

    def days(self) -> Iterator[dict[str, Any]]:
        """What every day gave, as it was written."""
        with self.path.open(encoding="utf-8") as file:
            file.readline()
            for line in file:
                yield json.loads(line)

    def add(self, lines: str) -> None:
        """Keep what some days gave."""
        with self.path.open("a", encoding="utf-8") as file:
            file.write(lines)


def without_torn_end(path: Path) -> None:
    """Take away the end of a line that was torn off when a run was stopped."""
    with path.open("rb+") as file:
        whole = 0
        for line in file:
            whole += len(line) if line.endswith(b"\n") else 0
        file.truncate(whole)


def run_days(
    days: Sequence[Numbered],
    kept: KeptDays,
    workers: int,
    minutes: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> bool:
    """Run what is not kept yet; gives whether all is there. Called again it goes on.

    minutes: stop by itself after so long. On a card the days go by their size within a part of the sample,
    so that races run together are of one size; what is there when it is stopped is whole parts and some days.
    """
    engine, seeds = kept.head["on"], kept.head["races"]
    ends = None if minutes is None else time.monotonic() + 60 * minutes
    had = {found["day"] for found in kept.days()}
    missing = [day for day in days if day[0] not in had]
    done, pieces = len(days) - len(missing), pieces_of(missing, seeds, engine, workers)
    if not missing:
        return True
    crew = Crew(min(workers, len(missing)), engine)
    running: dict[Future[Any], tuple[Path, int]] = {}
    try:
        while True:
            for piece in islice(pieces, AHEAD * workers - len(running)):
                path = crew.folder / f"{piece[0][0]}.days"
                work = crew.give(run_to_file, piece, seeds, engine, str(path))
                running[work] = path, len(piece)
            if not running:
                return True
            left = None if ends is None else max(0.0, ends - time.monotonic())
            for work in wait(running, left, return_when=FIRST_COMPLETED).done:
                work.result()
                path, count = running.pop(work)
                kept.add(path.read_text(encoding="utf-8"))
                path.unlink()
                done += count
                if progress:
                    progress(done / len(days))
            if ends is not None and time.monotonic() > ends:
                return False
    finally:
        crew.stop()


PART = 1024
"""So many days of the sample are done before the next: any first part of it fills the space evenly."""


def pieces_of(
    days: Sequence[Numbered], seeds: int, engine: str, workers: int
) -> Iterator[list[Numbered]]:
    """What a worker gets at once: a day; on a card days of one size, as many as fill its share of it."""
    if engine == CPU:
        yield from ([day] for day in days)
        return
    from simrun.engine.batch.on_card import fills

    for first in range(0, len(days), PART):
        part = sorted(days[first : first + PART], key=size_and_length)
        while part:
            races = group_of(fills(field_of_day(part[0][1])), workers, len(days) * seeds)
            count = max(1, races // seeds)
            yield part[:count]
            part = part[count:]


def size_and_length(one: Numbered) -> tuple[int, float]:
    """The largest fields first, in steps of an eighth; of one size those whose last come in latest."""
    _, day = one
    return -round(8 * math.log2(field_of_day(day))), -(day.mean_s + 2 * day.spread_s)


def field_of_day(day: SampledDay) -> int:
    """How many run?"""
    return day.boxes * day.runners
