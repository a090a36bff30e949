"""Races run together: the contract that both engines keep.

`run_together(races, engine)`: races about to start, of different courses and fields if need be, are run to
their end; crossings, reserves and stands are then in each of them, whichever engine it was. On the processor
the kernel runs one after the other; on a card all are stepped at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import groupby
from typing import Any

from simrun.engine.batch.lent.lender import Lender
from simrun.engine.batch.lots import Batch
from simrun.engine.batch.packing import packed_races, unpack_races
from simrun.engine.run import CHUNK_S, Race

CPU, GPU = "cpu", "gpu"
ENGINES = (CPU, GPU)
"""On the processor, or on a graphics card. Equal to rounding, never mixed: a crowd makes much of little."""

MOST_RUNNERS = 1024
"""A race with more is left to the processor, on whichever engine."""

Hands = Callable[..., Any]


def run_together(races: Sequence[Race], engine: str = CPU, hands: Hands | None = None) -> None:
    """Run all of them to their end. hands: who steps a batch, the engine's own unless told.

    Check: tests/agreement/test_phases.py, tests/agreement/on_a_card.py.
    """
    if engine == CPU and hands is None:
        for race in races:
            race.run()
        return
    for some in _alike(races):
        if len(some[0].roster) > MOST_RUNNERS:
            for race in some:
                race.run()
        else:
            _run_batch(some, hands or _card())


def _run_batch(races: Sequence[Race], hands: Hands) -> None:
    """Run races of one step to their end."""
    batch = packed_races(races)
    unpack_races(to_the_end(hands, batch, races[0].step_s, races[0].alone), races)


def to_the_end(hands: Hands, batch: Batch, step_s: float, alone: bool) -> Batch:
    """Step a batch until all of its races are over, a chunk of seconds at a time as `Race.run` does."""
    going, steps = hands(batch, step_s, alone), max(1, round(CHUNK_S / step_s))
    for first in range(0, int(batch.lots["last_step"].max()), steps):
        if going.advance(first, steps) == len(batch.lots):
            break
    found: Batch = going.fetched()
    return found


def _alike(races: Sequence[Race]) -> Iterator[list[Race]]:
    """The races in groups that can be stepped together."""

    def kind(race: Race) -> tuple[bool, float, bool]:
        return race.alone, race.step_s, len(race.roster) > MOST_RUNNERS

    for _, some in groupby(sorted(races, key=kind), key=kind):
        yield list(some)


def _card() -> Hands:
    """Who steps a batch on a card; its library is not looked for before."""
    if _BORROWED:
        return _BORROWED[-1]
    from simrun.engine.batch.on_card import OnCard

    return OnCard


_BORROWED: list[Hands] = []
"""Of a process that holds no card itself: who has one."""


def lender() -> Lender:
    """This process holds the card from now on, for as many others as ask."""
    from simrun.engine.batch.on_card import OnCard, fills

    return Lender(partial(to_the_end, OnCard), fills)


def borrow(hands: Hands) -> None:
    """From now on this process has its batches run by these hands, as `lent.borrower` has them."""
    _BORROWED.append(hands)
