"""Where does the chance of a race come from? One seed, one stream for every purpose.

Two scenarios with the same seed meet the same people, whatever their tactics; and no purpose's
draws move when another purpose draws more. Draw for everybody, in full arrays, before looking at
tactics. Check: tests/unit/runners/test_runners_streams.py.
"""

from __future__ import annotations

from functools import lru_cache

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
    "edges": 11,
    "boxes": 12,
    "nudges": 13,
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


def point_number(seed: int) -> int:
    """Which point of the unknown inputs does a seed meet? Seeds 1 and 2 the first, 3 and 4 the second, ...

    Two seeds a point: what differs within such a pair is chance, what differs between pairs is the inputs
    as well. (Seed 0 joins the first.)
    """
    return max(0, seed - 1) // 2


@lru_cache(maxsize=4096)
def point_of(seed: int, count: int) -> tuple[float, ...]:
    """Where do so many unknown inputs lie with this seed? A number from 0 to 1 each, even over many seeds.

    A point of one scrambled Sobol sequence, by the seed alone: every arm of a study meets the same, and a
    study that goes on later does too. Raises ValueError for a seed below 0.
    Source: Owen 1998, Journal of Complexity 14:466 (scrambling); memory.
    Check: tests/unit/runners/test_runners_streams.py.
    """
    if seed < 0:
        raise ValueError(f"a seed is a whole number from 0, not {seed}")
    from scipy.stats import qmc  # slow to load, and only needed where something is drawn

    sequence = qmc.Sobol(count, scramble=True, rng=SCRAMBLED_BY)
    if point_number(seed):
        sequence.fast_forward(point_number(seed))
    return tuple(map(float, sequence.random(1)[0]))


SCRAMBLED_BY = 1
"""The seed of the one scrambling there is: part of every race with drawn inputs."""
