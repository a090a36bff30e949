"""How is a plan carried out? Groups of races, side by side, each kept as soon as it is done."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.code.compiling import watched
from simrun.base.errors import BadRecording, CannotSimulate, notice
from simrun.engine.batch.together import CPU, GPU
from simrun.engine.batch.which_engine import carries_out, engine_for
from simrun.runners.line_choice import CHOICES
from simrun.scenario.scenario import Scenario
from simrun.trials.plan import Plan
from simrun.trials.races import TIMES, Outcome, Races, Row, goes_together, run_group
from simrun.trials.store import Store, kept_engine
from simrun.trials.workers import RETRIES, Hired, Pool, Threads, cores, group_of

Progress = Callable[[float], None]

LINE_WORDS = (*CHOICES, "own", "shortest")
"""What the line of a runner may be called."""

TASK_S = 0.05
"""A task should last so long at least: handing it over costs a worker about a millisecond."""

MOST_IN_GROUP = 50
WORTH_A_CREW = 500
"""From so many races on, it is worth it to start processes that set up for a card."""

WAITING_A_WORKER = 3
"""So many groups a worker are handed over ahead of time; the rest waits, and memory stays flat."""


def carry_out(
    plan: Plan,
    store: str | Path,
    *,
    executor: Executor | None = None,
    workers: int | None = None,
    engine: str | None = None,
    progress: Progress | None = None,
) -> Path:
    """Run every race of a plan that the store does not hold yet; gives the store's path.

    May be stopped at any moment (Ctrl-C, a kill, a power cut) and called again: it goes on, and the
    file ends the same. executor: any of concurrent.futures, a cluster's too; without one, `workers`
    processes of this machine (1 runs here, in this process); without either a thread a core, all in this
    process: the same bits, and nothing has to be started. engine: cpu, gpu, or as `engine_for` finds; races
    of both are never in one store. progress is told the share of the plan that is kept. Raises CannotWrite,
    CannotSimulate, BadRecording.
    Check: tests/journeys/test_study.py (killed at random moments, the same file).
    """
    can = executor is None and all(
        goes_together(day, plan.texts[plan.digests[name]], plan.crowd)
        for name, day in plan.arms.items()
    )
    if engine == GPU and not can:
        of = "that are watched step by step, on a cluster or by a behaviour of one's own"
        notice(f"races {of} are run by the engine cpu")
    told = engine_for(engine if can else CPU, len(plan), lambda: kept_engine(store))
    carries_out(told)
    with Store(store, writing=True, engine=told) as kept:
        kept.add_arms(plan.texts)
        kept.let_go_of_damaged()
        job = _Job(plan, kept, progress)
        if told == GPU:
            job.run_on_card(workers or cores())
            kept.tidy()
            return Path(store)
        job.warm()
        count = workers or cores()
        if executor is not None:
            job.run_with(Hired(plan, executor), count)
        elif count == 1 or len(job.missing) < 2:
            job.run_here(tuple(job.missing))
        elif workers is None:
            job.run_with_threads(count)
        else:
            job.run_with_pools(count)
        kept.tidy()
    return Path(store)


def outcomes_of(plan: Plan, arm: str, store: Path) -> Iterator[Outcome]:
    """The races of one arm, in the order of the plan's seeds however many more the store holds.

    Raises BadRecording at a race that cannot be of this arm, whatever its seal says.
    """
    wanted, day = set(plan.seeds), plan.arms[arm]
    with Store(store) as kept:
        for seed, outcome in kept.outcomes(plan.digests[arm]):
            if seed in wanted:
                if not can_be_of(outcome, day):
                    what = f"the race of seed {seed} is not one of this race day"
                    raise BadRecording(f"{store}: {what}; delete the file, and it is run again")
                yield outcome


def can_be_of(outcome: Outcome, day: Scenario) -> bool:
    """Can this be a race of that day? As many people, in its boxes, no time before the gun or endless."""
    whole = {
        "team_index": (0, len(day.teams) - 1),
        "box": (1, day.start_line.spec.boxes),
        "row": (1, day.runners),
        "place": (1, day.runners),
        "clear_place": (1, day.runners),
    }
    marks = len(day.strip.checkpoints)
    times = np.stack([getattr(outcome, name) for name in TIMES if name != "reserve_m"])
    return (
        outcome.crossing_s.shape == (day.runners, marks)
        and bool(np.isin(outcome.line, LINE_WORDS).all())
        and all(_within(getattr(outcome, name), *ends) for name, ends in whole.items())
        and _within(times, 0.0, np.finfo(float).max)
    )


def _within(values: NDArray[Any], low: float, high: float) -> bool:
    """Between these ends, where there is a number."""
    return not bool(((values < low) | (values > high)).any())


def part_of(progress: Progress | None, low: float, high: float) -> Progress | None:
    """The progress of one study of several, from 0 to 1 of its own: of the whole it goes from low to high."""
    return None if progress is None else lambda share: progress(low + (high - low) * share)


class _Job:
    """A plan on its way: what is missing, in the plan's order, and what a race takes."""

    def __init__(self, plan: Plan, store: Store, progress: Progress | None) -> None:
        self.plan, self.store, self.progress = plan, store, progress
        had = store.kept()
        self.missing = dict.fromkeys(race for race in plan.races() if race not in had)
        self.race_s = 0.0

    def warm(self) -> None:
        """Run the first missing race here: it compiles, so that no worker has to, and is timed."""
        if not self.missing:
            return
        first = next(iter(self.missing))
        begun = time.perf_counter()
        with watched() as compiling:
            self.run_here((first,))
        self.race_s = time.perf_counter() - begun - compiling.seconds

    def run_here(self, races: Races) -> None:
        """One race after the other in this process."""
        for race in races:
            self.keep(run_group(self.plan.texts, (race,), self.plan.watched, self.plan.crowd))

    def run_on_card(self, workers: int) -> None:
        """As many races at once as fill the card; where there are many, processes set up what comes next."""
        if self.missing:
            notice(f"{len(self.missing)} races on the graphics card (engine gpu)")
        if len(self.missing) < WORTH_A_CREW or workers == 1:
            for some in self.groups_on_card():
                self.keep(run_group(self.plan.texts, some, self.plan.watched, engine=GPU))
            return
        self.run_with_pools(workers + workers // 2, GPU)

    def groups_on_card(self, workers: int | None = None) -> Iterator[Races]:
        """What is missing, the largest fields first: as many at once as fill the card, or each worker's."""
        from simrun.engine.batch.on_card import fills

        digests = self.plan.digests
        field = {digests[name]: day.runners for name, day in self.plan.arms.items()}
        left = sorted(self.missing, key=lambda race: -field[race[0]])
        whole = len(left)
        while left:
            size = fills(field[left[0][0]])
            size = size if workers is None else group_of(size, workers, whole)
            yield tuple(left[:size])
            left = left[size:]

    def keep(self, rows: list[Row]) -> None:
        """Write down what was run, and tell how far we are."""
        self.store.add_races(rows)
        for digest, seed, _ in rows:
            self.missing.pop((digest, seed), None)
        if self.progress:
            self.progress(1 - len(self.missing) / len(self.plan))

    def groups(self, workers: int) -> Iterator[Races]:
        """What is missing, in groups that last long enough and are not too few for the workers."""
        wanted = min(MOST_IN_GROUP, 1 + int(TASK_S / max(self.race_s, 1e-6)))
        size = max(1, min(wanted, len(self.missing) // (4 * workers)))
        missing = tuple(self.missing)
        for first in range(0, len(missing), size):
            yield missing[first : first + size]

    def run_with(
        self, hands: Pool | Hired | Threads, workers: int, groups: Iterator[Races] | None = None
    ) -> None:
        """Hand groups over, a few ahead of what is done; keep them as they come back."""
        groups = groups or self.groups(workers)
        running: dict[Future[Any], Races] = {}
        try:
            while True:
                for races in islice(groups, WAITING_A_WORKER * workers - len(running)):
                    running[hands.submit(races)] = races
                if not running:
                    return
                for done in self._finished(running):
                    self.keep(hands.rows(running.pop(done), done))
        finally:
            for future in running:
                future.cancel()

    @staticmethod
    def _finished(running: dict[Future[Any], Races]) -> list[Future[Any]]:
        """Which are done? Those that went well first, to be kept before anybody complains."""
        finished = wait(running, return_when=FIRST_COMPLETED).done
        return sorted(finished, key=lambda f: f.cancelled() or f.exception() is not None)

    def run_with_threads(self, workers: int) -> None:
        """Run in threads of this process."""
        threads = Threads(self.plan, min(workers, len(self.missing)))
        try:
            self.run_with(threads, workers)
        finally:
            threads.stop()

    def run_with_pools(self, workers: int, engine: str = CPU) -> None:
        """Run in processes; where one dies its races are done again by new ones, a few times."""
        tries = RETRIES
        while self.missing:
            before = len(self.missing)
            pool = Pool(self.plan, min(workers, before), engine)
            groups = self.groups_on_card(workers) if engine == GPU else None
            try:
                self.run_with(pool, workers, groups)
            except BrokenExecutor:
                tries = RETRIES if len(self.missing) < before else tries - 1
            finally:
                pool.stop()
            if tries == 0:
                raise CannotSimulate(_DYING)


_DYING = (
    f"the processes that run the races died {RETRIES} times in a row: out of memory, or this is a "
    "script of your own that lacks `if __name__ == '__main__':` (workers=1 needs no processes)"
)
