"""The hands of a process whose batches are run on a card that another process holds."""

from __future__ import annotations

import atexit
from multiprocessing.connection import Client, Connection
from typing import Any

from simrun.base.errors import CannotSimulate
from simrun.engine.batch.lent.segment import Segment, seen_in
from simrun.engine.batch.lots import WRITTEN, Batch


class Borrower:
    """What `run_together` calls in such a process: as `OnCard`, but elsewhere.

    address, key: of a Lender.
    """

    def __init__(self, address: str, key: bytes) -> None:
        self.connection: Connection = Client(address, authkey=key)
        self.segment = Segment()
        atexit.register(self.segment.close)

    def __call__(self, batch: Batch, step_s: float, alone: bool) -> Elsewhere:
        """Have this batch run to its end, and wait for it. Raises CannotSimulate where the card fails."""
        name, places = self.segment.put(batch)
        self.connection.send((name, places, step_s, alone))
        wrong = self.connection.recv()
        self.segment.found()
        if wrong is not None:
            raise CannotSimulate(f"the graphics card: {wrong}")
        assert self.segment.memory is not None
        found = seen_in(self.segment.memory, places)
        # Only what was written to is other than it was; it lies there until the next batch is put down.
        written: Any = {name: getattr(found, name) for name in WRITTEN}
        return Elsewhere(batch._replace(**written))


class Elsewhere:
    """A batch that was run to its end."""

    def __init__(self, batch: Batch) -> None:
        self.batch = batch

    def advance(self, first: int, steps: int) -> int:
        """Nothing is left to do: all races are at their end or at their limit."""
        return len(self.batch.lots)

    def fetched(self) -> Batch:
        """The batch at its end."""
        return self.batch
