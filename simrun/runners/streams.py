"""Where does the chance of a race come from? One seed, one stream for every purpose.

Two scenarios with the same seed meet the same people, whatever their tactics; and no purpose's
draws move when another purpose draws more. Draw for everybody, in full arrays, before looking at
tactics. Check: tests/unit/runners/test_runners_streams.py.
"""

from __future__ import annotations

import numpy as np

from simrun.base.errors import nearest_word

PURPOSES = {
    "people": 0,
    "reactions": 1,
    "noise": 2,
    "draw": 3,
    "lines": 4,
    "bodies": 5,
    "names": 6,
    "openings": 7,
    "reserves": 8,
    "looks": 9,
    "hands": 10,
    "boxes": 11,
}
"""The number of a purpose is part of every race ever recorded: add new ones at the end."""


def stream(seed: int, purpose: str) -> np.random.Generator:
    """The random numbers of `seed` for one purpose, from their beginning.

    Raises KeyError naming the nearest purpose, and ValueError for a seed below 0.
    """
    if purpose not in PURPOSES:
        nearest = nearest_word(purpose, PURPOSES) or ", ".join(PURPOSES)
        raise KeyError(f"no stream is called {purpose!r}; did you mean {nearest!r}?")
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(PURPOSES[purpose],)))


def whole_blocks(columns: int, block: int) -> int:
    """How many columns to draw for everybody, so that a few more leave the first as they are?"""
    return -(-columns // block) * block
