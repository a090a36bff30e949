"""A batch stepped on the processor: every phase goes over all runners before the next begins.

It is the proof that the phases are those of the kernel: slower than that, for each looks at everybody.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from simrun.base.compiled import compiled
from simrun.engine.batch.look import show
from simrun.engine.batch.lots import CLOSE_ROOM, MOST_TRACKS, Batch, lot_of
from simrun.engine.batch.step import (
    begin,
    end,
    is_on,
    look_and_go,
    note_mark,
    note_over,
    notes_marks,
    watch_over,
)
from simrun.engine.batch.touch import lose_approach, part, push_off
from simrun.state.arrays import NEAR, NEAR_ROOM


class OnCores:
    """A batch on the processor. alone: everybody as if nobody else were there."""

    def __init__(self, batch: Batch, step_s: float, alone: bool) -> None:
        # As record arrays, so that plain Python reads fields as compiled code does.
        parts: Any = (part.view(np.recarray) if part.dtype.names else part for part in batch)
        self.batch, self.step_s, self.alone = Batch(*parts), step_s, alone
        most = int(batch.lots["bodies"].max())
        self.room = (
            np.zeros(most, dtype=np.int64),
            np.zeros(NEAR_ROOM, dtype=NEAR).view(np.recarray),
            np.zeros(MOST_TRACKS),
            np.zeros((most, CLOSE_ROOM), dtype=np.int64),
            np.zeros(most, dtype=np.int64),
        )

    def advance(self, first: int, steps: int) -> int:
        """Run so many steps of every race that is not over; returns how many races are."""
        _run(first, steps, self.step_s, self.alone, self.batch, *self.room)
        return int(self.batch.lots["over"].sum())

    def fetched(self) -> Batch:
        """The batch as it is now."""
        return self.batch


@compiled
def _run(
    first: int,
    steps: int,
    step_s: float,
    alone: bool,
    batch: Any,
    hits: Any,
    near: Any,
    worth: Any,
    close: Any,
    touching: Any,
) -> None:
    for r in range(len(batch.lots)):
        if batch.lots[r].over == 1:
            continue
        lot, settings = lot_of(r, batch), batch.settings[r]
        for step in range(first, min(first + steps, batch.lots[r].last_step)):
            _one_step(
                r, step, step_s, alone, batch, lot, settings, hits, near, worth, close, touching
            )
        note_over(r, batch)


@compiled
def _one_step(
    r: int,
    step: int,
    step_s: float,
    alone: bool,
    batch: Any,
    lot: Any,
    settings: Any,
    hits: Any,
    near: Any,
    worth: Any,
    close: Any,
    touching: Any,
) -> None:
    about = batch.lots[r]
    bins, bodies = about.bins, batch.bodies[about.bodies_at : about.bodies_at + about.bodies]
    for i in range(len(bodies)):
        begin(i, bodies[i], step, step_s, bins, lot)
        show(lot.after[i], i, bodies[i], lot.ground)
        touching[i] = 0
    for i in range(about.runners):
        if is_on(bodies[i]):
            touching[i] = look_and_go(
                i, bodies[i], step, step_s, bins, alone, lot, settings, hits, near, worth, close[i]
            )
            show(lot.after[i], i, bodies[i], lot.ground)
    for i in range(about.runners):
        lose_approach(i, bodies[i], lot.after, close[i], touching[i], settings.contact_friction)
    for _ in range(settings.contact_sweeps):
        touched = 0
        for i in range(about.runners):
            touched |= push_off(bodies[i], lot.after, close[i], touching[i])
        if touched == 0:
            break
        for i in range(about.runners):
            part(i, bodies[i], lot.after, lot.ground)
    for i in range(about.runners):
        if is_on(bodies[i]):
            at = about.runners_at + i
            left = end(i, bodies[i], step, step_s, lot, close[i], touching[i])
            batch.overlap[at] = max(batch.overlap[at], left)
        if notes_marks(about.runners_at + i, step, about, batch):
            since_s = (step + 1 - about.note_every) * step_s
            note_mark(
                about.runners_at + i, bodies[i], since_s, (step + 1) * step_s, lot.ground, batch
            )
        if (step + 1) % about.look_every == 0:
            watch_over(bodies[i], batch.watches[about.runners_at + i], (step + 1) * step_s)
