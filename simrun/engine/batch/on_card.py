"""A batch stepped on a graphics card: one thread a runner, some races a block, barriers between the phases.

The only file that needs a card's library; imported only once a card is to be used.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from threading import Lock
from typing import Any

import numpy as np
from numba import cuda, from_dtype, types
from numba.cuda import codegen
from numba.cuda.target import CUDATypingContext

from simrun.base.compiled import Deferred
from simrun.engine.batch.look import show
from simrun.engine.batch.lots import CLOSE_ROOM, MOST_TRACKS, WRITTEN, Batch, lot_of
from simrun.engine.batch.places_now import note_bin
from simrun.engine.batch.step import (
    begin,
    end,
    is_on,
    is_there,
    look_and_go,
    note_mark,
    note_over,
    notes_marks,
    watch_over,
)
from simrun.engine.batch.touch import lose_approach, part, push_off
from simrun.state.arrays import BODY, NEAR, NEAR_ROOM

MOST_THREADS = 1024
"""So many threads has a block at most; a race with more runners is stepped on the processor."""

MOST_BODIES = 2048
REGISTERS = 64
"""So many a thread that a whole block of 1024 fits."""

ALONE_THREADS, ALONE_REGISTERS = 128, 128

_BODY, _NEAR = from_dtype(BODY), from_dtype(NEAR)


def field_steps(first: int, steps: int, step_s: float, batch: Any, turn: Any) -> None:
    """Run so many steps of every race of a batch: thread (runner, race of the block); turn: see `turns`."""
    k, r = cuda.threadIdx.x, cuda.blockIdx.x * cuda.blockDim.y + cuda.threadIdx.y
    known = r < len(batch.lots)
    about = batch.lots[r if known else 0]
    lot, settings = lot_of(r if known else 0, batch), batch.settings[r if known else 0]
    here = known and about.over == 0 and k < about.runners
    i = turn[about.runners_at + (k if here else 0)]
    at = about.bodies_at + i
    bins = about.bins
    hits, close = (
        cuda.local.array(MOST_BODIES, types.int16),
        cuda.local.array(CLOSE_ROOM, types.int16),
    )
    near, worth = cuda.local.array(NEAR_ROOM, _NEAR), cuda.local.array(MOST_TRACKS, types.float64)
    own = cuda.local.array(1, _BODY)
    own[0] = batch.bodies[at]
    me = own[0]
    if known:
        # Fixed bodies have no thread of their own: they are shown once.
        for j in range(about.runners + k, about.bodies, cuda.blockDim.x):
            show(lot.seen[j], j, batch.bodies[about.bodies_at + j], lot.ground)
            show(lot.after[j], j, batch.bodies[about.bodies_at + j], lot.ground)
            note_bin(j, batch.bodies[about.bodies_at + j], lot.ground, bins - 1, lot.bins)
    most_left = 0.0
    for step in range(first, first + steps):
        on = here and is_on(me) and step < about.last_step
        touching = 0
        if here:
            begin(i, me, step, step_s, bins, lot)
        cuda.syncthreads()
        if on:
            touching = look_and_go(
                i, me, step, step_s, bins, False, lot, settings, hits, near, worth, close
            )
        if here:
            show(lot.after[i], i, me, lot.ground)
        cuda.syncthreads()
        if touching > 0:
            lose_approach(i, me, lot.after, close, touching, settings.contact_friction)
        for _ in range(settings.contact_sweeps):
            if cuda.syncthreads_or(types.int32(push_off(me, lot.after, close, touching))) == 0:
                break
            if here:
                part(i, me, lot.after, lot.ground)
            cuda.syncthreads()
        if on:
            most_left = max(most_left, end(i, me, step, step_s, lot, close, touching))
        if here and step < about.last_step and (step + 1) % about.look_every == 0:
            watch_over(me, batch.watches[about.runners_at + i], (step + 1) * step_s)
    if here:
        batch.bodies[at] = own[0]
        who = about.runners_at + i
        batch.overlap[who] = max(batch.overlap[who], most_left)


def alone_steps(first: int, steps: int, step_s: float, batch: Any, race_of: Any, turn: Any) -> None:
    """Run so many steps of everybody alone: a thread a runner, until it is where its run ends."""
    if cuda.grid(1) >= len(race_of):
        return
    who = turn[cuda.grid(1)]
    r = race_of[who]
    about, lot, settings = batch.lots[r], lot_of(r, batch), batch.settings[r]
    i, goal = who - about.runners_at, about.marks - 1
    hits, close = cuda.local.array(1, types.int16), cuda.local.array(1, types.int16)
    near, worth = cuda.local.array(1, _NEAR), cuda.local.array(1, types.float64)
    own = cuda.local.array(1, _BODY)
    own[0] = batch.bodies[about.bodies_at + i]
    me = own[0]
    for step in range(first, min(first + steps, about.last_step)):
        if is_there(who, goal, batch):
            break
        if is_on(me):
            look_and_go(i, me, step, step_s, 0, True, lot, settings, hits, near, worth, close)
            end(i, me, step, step_s, lot, close, 0)
        if notes_marks(who, step, about, batch):
            since_s = (step + 1 - about.note_every) * step_s
            note_mark(who, me, since_s, (step + 1) * step_s, lot.ground, batch)
    batch.bodies[about.bodies_at + i] = own[0]


def over_now(batch: Any) -> None:
    """Note which races are over: a thread a race."""
    r = cuda.grid(1)
    if r < len(batch.lots):
        note_over(r, batch)


@contextmanager
def each_rounded() -> Iterator[None]:
    """Compile a product and a sum as two roundings, as on the processor, not as one.

    As one, b b - y y of equal b and y is not nothing, and may be less: the gap to a body just beside came out
    as no gap. And x a - y b is no longer the opposite of y b - x a. The library has no option for it, so the
    code it makes is told: an operation that names its rounding is not taken together with another.
    What waits until it is called (`Deferred`) is also shown to the library for what it is: it knows only
    what the compiler made. Check: `rounds_twice`, tests/agreement/test_for_a_card.py, on_a_card.py there.
    """
    compiling, resolving = codegen.nvvm.compile_ir, CUDATypingContext.resolve_value_type

    def told(llvmir: Any, **options: Any) -> Any:
        code = compiling(llvmir, **options, fma=False)
        for name in (b"mul", b"add", b"sub"):
            code = code.replace(b"\t" + name + b".f64", b"\t" + name + b".rn.f64")
        return code

    def resolved(context: Any, value: Any) -> Any:
        return resolving(context, value.dispatcher if isinstance(value, Deferred) else value)

    codegen.nvvm.compile_ir, CUDATypingContext.resolve_value_type = told, resolved
    try:
        yield
    finally:
        codegen.nvvm.compile_ir, CUDATypingContext.resolve_value_type = compiling, resolving


def left_of_product(a: Any, b: Any, found: Any) -> None:
    """What is left of a product once its rounded value is taken off? Nothing, where it is rounded first."""
    found[0] = a[0] * a[0] - b[0]


@lru_cache(maxsize=1)
def rounds_twice() -> bool:
    """Does this card round a product before it adds, as compiled here?"""
    a, found = np.array([1.0 + 2.0**-30]), cuda.to_device(np.ones(1))
    with each_rounded():
        cuda.jit(left_of_product, lto=False)[1, 1](cuda.to_device(a), cuda.to_device(a * a), found)
    return bool(found.copy_to_host()[0] == 0.0)


_ONE_AT_A_TIME = Lock()
"""Compiling is told something for as long as it lasts; beginning a run takes next to nothing."""


@lru_cache(maxsize=1)
def kernels() -> tuple[Any, Any, Any]:
    """The three, compiled for the card once a process, when first called."""
    field = cuda.jit(field_steps, max_registers=REGISTERS, lto=False)
    return (
        field,
        cuda.jit(alone_steps, max_registers=ALONE_REGISTERS, lto=False),
        cuda.jit(over_now, lto=False),
    )


def turns(batch: Batch, race_of: Any, step_s: float, alone: bool) -> Any:
    """Which runner has which thread? Those who look up in the same step side by side, (N,).

    Threads that go together wait for each other. In a field: numbers within each race, one race after the
    other; alone: numbers within the batch.
    """
    before = np.cumsum(batch.lots["runners"]) - batch.lots["runners"]
    number = np.arange(len(race_of)) - before[race_of]
    phase = batch.bodies["look_phase"][batch.lots["bodies_at"][race_of] + number]
    interval = np.maximum(1, np.round(batch.settings["look_interval_s"][race_of] / step_s))
    slot = (phase * interval).astype(np.int64)
    if alone:
        return np.argsort(slot, kind="stable").astype(np.int32)
    return number[np.lexsort((slot, race_of))].astype(np.int32)


class OnCard:
    """A batch on the card. alone: everybody as if nobody else were there.

    races_a_block: unless told as many as fit and leave no multiprocessor without; not one bit hangs on it.
    Check: tests/agreement/on_a_card.py.
    """

    def __init__(
        self, batch: Batch, step_s: float, alone: bool, races_a_block: int | None = None
    ) -> None:
        self.batch, self.step_s, self.alone = batch, step_s, alone
        self.stream = cuda.stream()
        self.on_card: Any = Batch(*(self._loaded(np.asarray(part)) for part in batch))
        runners = batch.lots["runners"]
        race_of = np.repeat(np.arange(len(runners), dtype=np.int32), runners)
        self.race_of = self._loaded(race_of)
        self.turn = self._loaded(turns(batch, race_of, step_s, alone))
        self.wide = int(runners.max())
        spread = -(-len(runners) // cuda.get_current_device().MULTIPROCESSOR_COUNT)
        self.high = races_a_block or max(1, min(MOST_THREADS // self.wide, spread))

    def _loaded(self, part: Any) -> Any:
        return cuda.to_device(part, stream=self.stream)

    def _fetched(self, part: Any) -> Any:
        found = part.copy_to_host(stream=self.stream)
        self.stream.synchronize()
        return found

    def advance(self, first: int, steps: int) -> int:
        """Run so many steps of every race that is not over; returns how many races are."""
        field, alone, over = kernels()
        count, stream = len(self.batch.lots), self.stream
        with _ONE_AT_A_TIME, each_rounded():
            if self.alone:
                blocks = -(-self.race_of.size // ALONE_THREADS)
                alone[blocks, ALONE_THREADS, stream](
                    first, steps, self.step_s, self.on_card, self.race_of, self.turn
                )
            else:
                shape = (self.wide, self.high)
                field[-(-count // self.high), shape, stream](
                    first, steps, self.step_s, self.on_card, self.turn
                )
            over[-(-count // ALONE_THREADS), ALONE_THREADS, stream](self.on_card)
        return int(self._fetched(self.on_card.lots)["over"].sum())

    def fetched(self) -> Batch:
        """The batch as it is now; what was only read is not brought back."""
        found = {name: self._fetched(getattr(self.on_card, name)) for name in WRITTEN}
        return self.batch._replace(**found)


def fills(runners: int) -> int:
    """How many races of so many runners fill the card?"""
    at_once = max(1, MOST_THREADS // runners)
    return at_once * int(cuda.get_current_device().MULTIPROCESSOR_COUNT)
