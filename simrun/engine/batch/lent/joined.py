"""Several batches as one, and what became of them apart again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.engine.batch.lots import WRITTEN, Batch

ROWS_OF = {
    "cuts_at": "ground",
    "bodies_at": "bodies",
    "runners_at": "crossing_s",
    "rows_at": "margin_left",
    "corners_at": "hull_m",
    "begins_at": "hull_begins",
    "things_at": "hull_open",
    "front_at": "front_m_s",
}
"""What of a lot says where its rows begin, and in which array."""


def joined(batches: Sequence[Batch]) -> Batch:
    """All of them, one behind the other. Check: tests/agreement/test_lent.py."""
    parts = {name: [getattr(b, name) for b in batches] for name in Batch._fields}
    found = {name: _behind(each) for name, each in parts.items()}
    lots, at = found["lots"], 0
    before = dict.fromkeys(ROWS_OF, 0)
    for batch in batches:
        mine = lots[at : at + len(batch.lots)]
        for begins, rows in ROWS_OF.items():
            mine[begins] += before[begins]
            before[begins] += len(getattr(batch, rows))
        at += len(batch.lots)
    return Batch(**found)


def part_again(whole: Batch, batches: Sequence[Batch]) -> None:
    """Write what a run has written into the batches that it was joined of; of lots who is over."""
    for name in WRITTEN:
        at = 0
        for batch in batches:
            mine = getattr(batch, name)
            rows = getattr(whole, name)[at : at + len(mine)]
            at += len(mine)
            if name == "lots":
                mine["over"] = rows["over"]
            else:
                mine[...] = rows[:, : mine.shape[1]] if mine.ndim > 1 else rows


def as_bytes(records: NDArray[Any]) -> NDArray[np.uint8]:
    """The bytes of some records, a row each."""
    return records.view(np.uint8).reshape(len(records), records.dtype.itemsize)


def _behind(parts: Sequence[NDArray[Any]]) -> NDArray[Any]:
    """One array behind the other, as wide as the widest; what is in none of them is nan."""
    if parts[0].dtype.names:
        # Field by field, as records are put together otherwise, it takes twenty times as long.
        whole = np.concatenate([as_bytes(part) for part in parts])
        return whole.view(parts[0].dtype)[:, 0]
    if parts[0].ndim == 1 or len({part.shape[1] for part in parts}) == 1:
        return np.concatenate(parts)
    width = max(part.shape[1] for part in parts)
    whole = np.full((sum(map(len, parts)), width), np.nan)
    at = 0
    for part in parts:
        whole[at : at + len(part), : part.shape[1]] = part
        at += len(part)
    return whole
