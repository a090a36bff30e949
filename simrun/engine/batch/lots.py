"""Many races in one set of arrays: what a batch holds, and how one race of it is looked at.

A race of a batch is a lot: a record of where its rows begin in the common arrays, and how many they are.
Courses and settings may differ from lot to lot; the step is the same for all.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from simrun.base.compiled import compiled
from simrun.laws.settings import Settings
from simrun.state.arrays import Array, Records, Ways, Whole

LOT = np.dtype(
    [
        (name, np.int64)
        for name in [
            *("bodies_at", "bodies", "runners_at", "runners", "cuts_at", "cuts"),
            *("rows_at", "rows", "wander", "corners_at", "corners", "begins_at", "begins"),
            *("things_at", "things", "front_at", "front", "raced", "noted", "bins"),
            *("marks", "last_step", "look_every", "note_every", "over"),
        ]
    ],
    align=True,
)
"""Where the rows of one race begin (`_at`), and how many there are.

rows: of margins, one a runner or one for all; wander, raced, noted: columns that count; begins: of outlines;
bins: of places told on the way (0: none are told); marks: checkpoints. last_step: of the time limit;
look_every: so many steps lie between two looks of the watch; note_every: between two notes of who has come
to a mark of their own; over: 1 once everybody has crossed the last
checkpoint.
"""

_WHOLE = ("tracks_a_side", "contact_sweeps")

SETTINGS = np.dtype(
    [(name, np.int64 if name in _WHOLE else np.float64) for name in Settings._fields], align=True
)
"""The settings of one race, as a record."""

WATCH = np.dtype(
    [
        (name, np.float64)
        for name in ["free_s", "since_s", "anchor_x", "anchor_y", "stood_s", "stood_x", "stood_y"]
    ]
    + [("stood_cell", np.int64)],
    align=True,
)
"""What the watch knows of one runner, see `engine.watch`: where and when the longest stand was."""

CLOSE_ROOM = 64
"""Room for the bodies that one runner may touch in a step: more than fit within 1.4 m."""

MOST_TRACKS = 32
"""Room for the tracks that one runner weighs."""

FAR_M = 1e30
"""Runners who have left the course are put so far off that nobody sees them."""


class Batch(NamedTuple):
    """B races: lots and settings (B,), and the rows of all of them one behind the other.

    As of Ways and Tape, with overlap a runner; mark_m: where each one's run ends, nan: at the last
    checkpoint; furthest_m: how far each had come at the last note; marked_s: when they came to the mark.
    seen, after: everybody as others see them when a step begins, and once all have moved; bins: in which bin
    of the course everybody is.
    """

    lots: Records
    settings: Records
    bodies: Records
    ground: Records
    gives_m: Array
    wander: Array
    margin_left: Array
    margin_right: Array
    hull_m: Array
    hull_begins: Whole
    hull_open: Whole
    front_m_s: Array
    raced: Array
    crossing_s: Array
    reserve_m: Array
    raced_sum: Array
    raced_times: Array
    overlap: Array
    mark_m: Array
    furthest_m: Array
    marked_s: Array
    watches: Records
    seen: Records
    after: Records
    bins: Whole


WRITTEN = (
    *("lots", "bodies", "crossing_s", "reserve_m", "raced_sum", "raced_times"),
    *("overlap", "watches", "furthest_m", "marked_s"),
)
"""What a run writes to that is wanted afterwards."""


class Notes(NamedTuple):
    """What one race writes down, as of Tape."""

    crossing_s: Any
    reserve_m: Any
    raced_sum: Any
    raced_times: Any


class Lot(NamedTuple):
    """One race of a batch: its own rows of everything but the settings: a record cannot be returned."""

    ground: Any
    ways: Any
    notes: Any
    seen: Any
    after: Any
    bins: Any


@compiled
def lot_of(r: int, batch: Any) -> Any:
    """The rows of race `r`."""
    lot = batch.lots[r]
    first, last = lot.runners_at, lot.runners_at + lot.runners
    cut, end = lot.cuts_at, lot.cuts_at + lot.cuts
    row, rows = lot.rows_at, lot.rows_at + lot.rows
    body, bodies = lot.bodies_at, lot.bodies_at + lot.bodies
    ways = Ways(
        batch.wander[first:last, : lot.wander],
        batch.margin_left[row:rows, : lot.cuts],
        batch.margin_right[row:rows, : lot.cuts],
        batch.gives_m[r, : lot.cuts],
        batch.hull_m[lot.corners_at : lot.corners_at + lot.corners],
        batch.hull_begins[lot.begins_at : lot.begins_at + lot.begins],
        batch.hull_open[lot.things_at : lot.things_at + lot.things],
        batch.front_m_s[lot.front_at : lot.front_at + lot.front],
        batch.raced[first:last, : lot.raced],
    )
    notes = Notes(
        batch.crossing_s[first:last],
        batch.reserve_m[first:last],
        batch.raced_sum[first:last, : lot.noted],
        batch.raced_times[first:last, : lot.noted],
    )
    return Lot(
        batch.ground[cut:end],
        ways,
        notes,
        batch.seen[body:bodies],
        batch.after[body:bodies],
        batch.bins[body:bodies],
    )
