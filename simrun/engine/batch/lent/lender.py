"""Who holds the card: batches of several processes are joined until they fill it, run, and given back.

While the card runs, the others set up what comes next.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, Listener
from multiprocessing.shared_memory import SharedMemory
from typing import Any

from simrun.engine.batch.lent.joined import joined, part_again
from simrun.engine.batch.lent.segment import seen_in
from simrun.engine.batch.lots import Batch

PATIENCE_S = 0.5
"""So long does somebody wait for others at most before a card is run that is not full."""

HANDS = 3
"""So many batches are under way at once: one is loaded while another runs, and small ones run together."""

MOST_ALONE = 4000
"""So many races alone are run at once at most: their lines must find room on the card."""


@dataclass(eq=False)
class Asked:
    """A batch that a process waits for."""

    connection: Connection
    batch: Batch
    step_s: float
    alone: bool
    wide: int = field(init=False)
    since_s: float = field(default_factory=time.monotonic)

    def __post_init__(self) -> None:
        """wide: runners of its largest race."""
        self.wide = int(self.batch.lots["runners"].max())

    @property
    def kind(self) -> tuple[float, bool]:
        """Only batches of one kind are joined."""
        return self.step_s, self.alone


class Lender:
    """Listens for processes that ask, and runs what they ask for.

    run: runs a batch to its end, told the step and whether everybody is alone. fills: how many races of so
    many runners fill the card. Check: tests/agreement/test_lent.py.
    """

    def __init__(
        self,
        run: Callable[[Batch, float, bool], Batch],
        fills: Callable[[int], int],
    ) -> None:
        self.run, self.fills = run, fills
        self.key = secrets.token_bytes(16)
        self._listener = Listener(authkey=self.key, backlog=128)
        self._waiting: list[Asked] = []
        self._changed, self._over = threading.Condition(), False
        threads = [threading.Thread(target=self._accept, daemon=True)]
        threads += [threading.Thread(target=self._serve, daemon=True) for _ in range(HANDS)]
        for thread in threads:
            thread.start()

    @property
    def address(self) -> Any:
        """Where to ask."""
        return self._listener.address

    def close(self) -> None:
        """Lend no longer."""
        with self._changed:
            self._over = True
            self._changed.notify_all()
        self._listener.close()

    def _accept(self) -> None:
        while not self._over:
            with suppress(OSError, EOFError):
                connection = self._listener.accept()
                threading.Thread(target=self._hear, args=(connection,), daemon=True).start()

    def _hear(self, connection: Connection) -> None:
        """Take down what one process asks for, until it is gone."""
        held: list[SharedMemory] = []
        with suppress(OSError, EOFError):
            while True:
                name, places, step_s, alone = connection.recv()
                if not held or held[-1].name != name:
                    held.append(SharedMemory(name))
                asked = Asked(connection, seen_in(held[-1], places), step_s, alone)
                with self._changed:
                    self._waiting.append(asked)
                    self._changed.notify()

    def _serve(self) -> None:
        while some := self._next():
            wrong = None
            try:
                whole = joined([asked.batch for asked in some])
                whole = self.run(whole, *some[0].kind)
                part_again(whole, [asked.batch for asked in some])
            except Exception as error:  # whatever it is, those who wait must hear of it
                wrong = f"{type(error).__name__}: {error}"
            for asked in some:
                with suppress(OSError):
                    asked.connection.send(wrong)

    def _next(self) -> list[Asked]:
        """What is run next: of the kind that most wait for, once it fills the card or has waited."""
        with self._changed:
            while not self._over:
                some, full = self._most()
                left_s = PATIENCE_S
                if some:
                    left_s -= time.monotonic() - min(asked.since_s for asked in some)
                if some and (full or left_s <= 0.0):
                    self._waiting = [asked for asked in self._waiting if asked not in some]
                    return some
                self._changed.wait(left_s if some else None)
        return []

    def _most(self) -> tuple[list[Asked], bool]:
        """Of the kind that most wait for, as many as fill the card; and whether they do."""
        kinds: dict[Any, list[Asked]] = {}
        for asked in self._waiting:
            kinds.setdefault(asked.kind, []).append(asked)
        if not kinds:
            return [], False
        alike = max(kinds.values(), key=lambda some: sum(len(a.batch.bodies) for a in some))
        found: list[Asked] = []
        races, wide, full = 0, 0, False
        for asked in alike:
            room = MOST_ALONE if asked.alone else self.fills(max(wide, asked.wide))
            if found and races + len(asked.batch.lots) > room:
                full = True
                break
            found.append(asked)
            races, wide = races + len(asked.batch.lots), max(wide, asked.wide)
            full = races >= room
        return found, full
