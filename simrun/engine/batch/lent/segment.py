"""A batch in memory that two processes share: nothing of it is sent."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from multiprocessing.shared_memory import SharedMemory
from typing import Any

import numpy as np

from simrun.engine.batch.lots import Batch

Place = tuple[tuple[int, ...], Any, int]
"""Shape, kind of record, and after how many bytes."""

EDGE_BYTES = 64


def places_of(batch: Batch) -> list[Place]:
    """Where every array of this batch goes."""
    places, at = [], 0
    for part in batch:
        places.append((part.shape, part.dtype, at))
        at += -(-part.nbytes // EDGE_BYTES) * EDGE_BYTES
    return places


def bytes_of(places: Sequence[Place]) -> int:
    """How much room do they take?"""
    shape, kind, at = places[-1]
    return at + int(np.prod(shape)) * int(kind.itemsize)


def seen_in(memory: SharedMemory, places: Sequence[Place]) -> Batch:
    """The batch that lies there: its arrays are that memory."""
    return Batch(
        *(np.ndarray(shape, kind, buffer=memory.buf, offset=at) for shape, kind, at in places)
    )


class Segment:
    """Memory of this process that another one may look into; made anew, with room to spare, where it is too
    small. Its name goes once the other has found it, so that nothing is left behind by whoever is stopped."""

    def __init__(self) -> None:
        self.memory: SharedMemory | None = None
        self._named = False

    def put(self, batch: Batch) -> tuple[str, list[Place]]:
        """Write a batch down; gives by which name and where it is found."""
        places = places_of(batch)
        wanted = bytes_of(places)
        if self.memory is None or self.memory.size < wanted:
            self.close()
            self.memory, self._named = SharedMemory(create=True, size=2 * wanted), True
        for (_, _, at), part in zip(places, batch, strict=True):
            flat = np.ascontiguousarray(part).reshape(-1).view(np.uint8)
            np.ndarray(flat.shape, np.uint8, buffer=self.memory.buf, offset=at)[:] = flat
        return self.memory.name, places

    def found(self) -> None:
        """The other has found it."""
        if self.memory is not None and self._named:
            self.memory.unlink()
            self._named = False

    def close(self) -> None:
        """Let go of it."""
        self.found()
        if self.memory is not None:
            with suppress(BufferError):  # what was found in it may still be looked at
                self.memory.close()
            self.memory = None
