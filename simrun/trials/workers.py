"""Who runs the races? Threads of this process, processes of this machine, or the workers of a cluster."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import (
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any
from weakref import finalize

from simrun.base.errors import BadInput, CannotSimulate, Problem
from simrun.base.stopped import heeding, in_one_piece, not_heard_by_children
from simrun.engine.batch.lent.borrower import Borrower
from simrun.engine.batch.together import CPU, GPU, borrow, lender
from simrun.trials.plan import Plan
from simrun.trials.races import Races, Row, run_group

CONNECT_S = "10s"

RETRIES = 3
"""So often is a group of races begun again whose worker died."""


def cores() -> int:
    """How many races may run side by side?"""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return os.cpu_count() or 1


class Threads:
    """Threads of this process: nothing has to be started, loaded or sent, and the kernel, nine tenths of a
    race, lets the others run. They end at once when told, in the middle of a race too."""

    def __init__(self, plan: Plan, workers: int) -> None:
        self.plan, self._unwanted = plan, threading.Event()
        self._executor = ThreadPoolExecutor(
            workers, initializer=heeding, initargs=(self._unwanted,)
        )

    def submit(self, races: Races) -> Future[Any]:
        """Have these races run."""
        plan = self.plan
        return self._executor.submit(run_group, plan.texts, races, plan.watched, plan.crowd)

    def rows(self, races: Races, done: Future[Any]) -> list[Row]:
        """What the races gave; raises what was raised in their thread."""
        return list(done.result())

    def stop(self) -> None:
        """End all threads."""
        with in_one_piece():
            self._unwanted.set()
            self._executor.shutdown(wait=True, cancel_futures=True)


class Crew:
    """Processes that are started afresh, and that end at once when told or when their parent is gone.

    Every worker holds the reading end of one pipe, this process the only writing end: the system closes
    that however this process ends, and a worker that reads the end of the pipe leaves. engine: with the gpu
    this process holds the card, and the workers have their races run on it.
    """

    def __init__(self, workers: int, engine: str = CPU) -> None:
        with in_one_piece():
            self.folder = Path(tempfile.mkdtemp(prefix="simrun-"))
            self._tidy = finalize(self, shutil.rmtree, self.folder, ignore_errors=True)
        self._lender = lender() if engine == GPU else None
        card = None if self._lender is None else (self._lender.address, self._lender.key)
        spawn = multiprocessing.get_context("spawn")
        self._reader, self._writer = spawn.Pipe(duplex=False)
        begun_with: Any = (self._reader, str(self.folder), card)
        # multiprocessing's own helper begins here: ended with the terminal, it would complain.
        with not_heard_by_children():
            self._executor = ProcessPoolExecutor(
                workers, mp_context=spawn, initializer=_begin, initargs=begun_with
            )

    def give(self, work: Callable[..., Any], *told: Any) -> Future[Any]:
        """Have this done. The first calls start processes, each deaf to Ctrl-C from its beginning."""
        with in_one_piece(), not_heard_by_children():
            return self._executor.submit(work, *told)

    def stop(self) -> None:
        """End all workers, in the middle of a race too."""
        with in_one_piece():
            if self._lender is not None:
                self._lender.close()  # first: nothing more is run for those who are ended now
            self._writer.close()
            self._executor.shutdown(wait=True, cancel_futures=True)
            self._reader.close()
            self._tidy()


CARDS_AHEAD = 6
"""So many times what fills a card is under way at once: it has something to run while races are set up, while
others wait for their next stage, and while what came out is written down."""


def group_of(fills: int, workers: int, races: int) -> int:
    """How many races does a worker of a card get at once? fills: so many fill it; races: that are left."""
    return max(1, min(CARDS_AHEAD * fills // workers, -(-races // workers)))


class Pool(Crew):
    """A crew that runs the races of a plan.

    What arms say and what races gave goes through files of a folder: a worker killed while it sends more
    than a pipe takes at once would leave the others waiting for ever.
    """

    def __init__(self, plan: Plan, workers: int, engine: str = CPU) -> None:
        super().__init__(workers, engine)
        self.engine, self.watched, self.crowd = engine, plan.watched, plan.crowd
        for digest, text in plan.texts.items():
            (self.folder / f"{digest}.json").write_text(text, encoding="utf-8")

    def submit(self, races: Races) -> Future[Any]:
        """Have these races run."""
        told = (str(self.folder), races, self.watched, self.crowd, self.engine)
        return self.give(_run_to_files, *told)

    def rows(self, races: Races, done: Future[Any]) -> list[Row]:
        """What the races gave; raises what their worker raised."""
        done.result()
        rows = []
        for digest, seed in races:
            path = self.folder / f"{digest}.{seed}"
            rows.append((digest, seed, path.read_bytes()))
            path.unlink()
        return rows


class Hired:
    """An executor that somebody else made, a cluster's perhaps: everything goes through its messages."""

    def __init__(self, plan: Plan, executor: Executor) -> None:
        self.plan, self.executor = plan, executor

    def submit(self, races: Races) -> Future[Any]:
        """Have these races run."""
        texts = {digest: self.plan.texts[digest] for digest, _ in races}
        plan = self.plan
        return self.executor.submit(run_group, texts, races, plan.watched, plan.crowd)

    def rows(self, races: Races, done: Future[Any]) -> list[Row]:
        """What the races gave; raises what their worker raised."""
        if done.cancelled():
            raise CannotSimulate("the cluster dropped a group of races")
        lost = done.exception()
        if lost and (isinstance(lost, BrokenExecutor) or "distributed" in type(lost).__module__):
            raise CannotSimulate(f"the cluster lost a group of races: {lost}") from lost
        return list(done.result())


def _begin(reader: Connection, folder: str, card: tuple[Any, bytes] | None = None) -> None:
    """In a new worker: leave Ctrl-C to the parent, and watch for its end; card: where to ask for it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if card is not None:
        borrow(Borrower(*card))
    threading.Thread(target=_leave_with_parent, args=(reader, folder), daemon=True).start()


def _leave_with_parent(reader: Connection, folder: str) -> None:
    try:
        reader.recv_bytes()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        os._exit(1)


def _run_to_files(folder: str, races: Races, watched: str | None, crowd: bool, engine: str) -> None:
    texts = {
        digest: Path(folder, f"{digest}.json").read_text(encoding="utf-8") for digest, _ in races
    }
    for digest, seed, outcome in run_group(texts, races, watched, crowd, engine):
        Path(folder, f"{digest}.{seed}").write_bytes(outcome)


@contextmanager
def executor_for(cluster: str | None, workers: int | None = None) -> Iterator[Executor | None]:
    """The executor that a command line asks for: a cluster's by its scheduler's address, or None.

    None stands for this machine's own threads and processes, which `carry_out` starts and ends itself.
    workers: more than the cluster has are not waited for. Raises BadInput, CannotSimulate.
    """
    if cluster is None:
        yield None
        return
    try:
        from distributed import Client
    except ImportError:
        allowed = "install the extra `cluster`: pip install 'simrun[cluster]'"
        raise BadInput(Problem("--cluster", "the cluster engine is missing", allowed)) from None
    try:
        client = Client(cluster, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as refused:
        raise CannotSimulate(f"no cluster answers at {cluster}: {refused}") from None
    with client, client.get_executor(pure=False, retries=RETRIES) as executor:
        yield executor
