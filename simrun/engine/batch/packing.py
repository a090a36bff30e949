"""From races about to start to one batch, and back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.engine.batch.lots import LOT, SETTINGS, WATCH, Batch
from simrun.engine.entering import PAUSE_S
from simrun.engine.run import Race
from simrun.state.arrays import BODY, CUT, SEEN, Array


def packed_races(races: Sequence[Race]) -> Batch:
    """The rows of these races, one race behind the other. All have the same step, none has begun."""
    lots = np.zeros(len(races), dtype=LOT)
    ground, cuts_at = _grounds(races)
    rows = [_margin_rows(race) for race in races]
    lots["cuts_at"] = cuts_at
    counts: dict[str, list[int]] = {
        "bodies": [len(race.bodies) for race in races],
        "runners": [len(race.roster) for race in races],
        "rows": [len(left) for left, _ in rows],
        "corners": [len(race.ways.hull_m) for race in races],
        "begins": [len(race.ways.hull_begins) for race in races],
        "things": [len(race.ways.hull_open) for race in races],
        "front": [len(race.ways.front_m_s) for race in races],
    }
    for name, each in counts.items():
        lots[name] = each
        lots[f"{name}_at"] = np.cumsum([0, *each[:-1]])
    lots["cuts"] = [len(race.ground) for race in races]
    lots["wander"] = [race.ways.wander.shape[1] for race in races]
    lots["raced"] = [race.ways.raced.shape[1] for race in races]
    lots["noted"] = [race.tape.raced_sum.shape[1] for race in races]
    lots["bins"] = [len(race.scratch.ranks) for race in races]
    lots["marks"] = [race.tape.crossing_s.shape[1] for race in races]
    lots["last_step"] = [race.last_step for race in races]
    lots["look_every"] = [race.watch_every for race in races]
    lots["note_every"] = [max(1, round(PAUSE_S / race.step_s)) for race in races]
    people, bodies = int(lots["runners"].sum()), int(lots["bodies"].sum())
    return Batch(
        lots=lots,
        settings=np.array([tuple(race.settings) for race in races], dtype=SETTINGS),
        bodies=np.concatenate([race.bodies for race in races]).astype(BODY, copy=False),
        ground=ground,
        gives_m=_side_by_side([race.ways.gives_m[None] for race in races]),
        wander=_side_by_side([race.ways.wander for race in races]),
        margin_left=_side_by_side([left for left, _ in rows]),
        margin_right=_side_by_side([right for _, right in rows]),
        hull_m=_at_least_one([race.ways.hull_m for race in races]),
        hull_begins=_at_least_one([race.ways.hull_begins for race in races]),
        hull_open=_at_least_one([race.ways.hull_open for race in races]),
        front_m_s=_at_least_one([race.ways.front_m_s for race in races]),
        raced=_side_by_side([_raced_rows(race) for race in races]),
        crossing_s=_side_by_side([race.tape.crossing_s for race in races]),
        reserve_m=_side_by_side([race.tape.reserve_m for race in races]),
        raced_sum=_side_by_side([race.tape.raced_sum for race in races]),
        raced_times=_side_by_side([race.tape.raced_times for race in races]),
        overlap=np.zeros(people),
        mark_m=np.concatenate([_marks_m(race) for race in races]),
        furthest_m=np.concatenate([_starts_m(race) for race in races]),
        marked_s=np.full(people, np.nan),
        watches=np.concatenate([_watches(race) for race in races]),
        seen=np.zeros(bodies, dtype=SEEN),
        after=np.zeros(bodies, dtype=SEEN),
        bins=np.zeros(bodies, dtype=np.int64),
    )


def unpack_races(batch: Batch, races: Sequence[Race]) -> None:
    """Write what became of a batch into its races, as if each had run by itself."""
    for lot, race in zip(batch.lots, races, strict=True):
        mine = slice(lot["runners_at"], lot["runners_at"] + lot["runners"])
        bodies = slice(lot["bodies_at"], lot["bodies_at"] + lot["bodies"])
        race.bodies[:] = batch.bodies[bodies]
        race.marked_s = batch.marked_s[mine].copy()
        tape = race.tape
        for name in ("crossing_s", "reserve_m", "raced_sum", "raced_times"):
            part = getattr(tape, name)
            part[:] = getattr(batch, name)[mine, : part.shape[1]]
        tape.overlap[0] = batch.overlap[mine].max(initial=0.0)
        watches = batch.watches[mine]
        race.watch.stood_s[:] = watches["stood_s"]
        for name in ("x", "y", "cell"):
            race.watch.stood[name] = watches[f"stood_{name}"]
        race.steps_done = race.last_step


def _grounds(races: Sequence[Race]) -> tuple[NDArray[Any], list[int]]:
    """Every course once, and where that of each race begins."""
    at: dict[bytes, int] = {}
    parts: list[NDArray[Any]] = []
    begins, total = [], 0
    for race in races:
        text = race.ground.tobytes()
        if text not in at:
            at[text] = total
            parts.append(np.asarray(race.ground))
            total += len(race.ground)
        begins.append(at[text])
    return np.concatenate(parts).astype(CUT, copy=False), begins


def _margin_rows(race: Race) -> tuple[Array, Array]:
    """The margins of a race; one row where everybody has the same."""
    left, right = race.ways.margin_left, race.ways.margin_right
    if (left == left[0]).all() and (right == right[0]).all():
        return left[:1], right[:1]
    return left, right


def _marks_m(race: Race) -> Array:
    """Where everybody's run ends; nan: at the last checkpoint."""
    return np.full(len(race.roster), np.nan) if race.mark_m is None else race.mark_m


def _starts_m(race: Race) -> Array:
    """How far along everybody stands at the start, where that is asked for."""
    return np.full(len(race.roster), np.nan) if race.mark_m is None else race.station_m()


def _raced_rows(race: Race) -> Array:
    """What a race replays, a row a runner."""
    raced = race.ways.raced
    return raced if len(raced) else np.zeros((len(race.roster), 0))


def _watches(race: Race) -> NDArray[Any]:
    watch = race.watch
    rows = np.zeros(watch.runners, dtype=WATCH)
    rows["free_s"], rows["since_s"] = watch.free_s, watch.since_s
    rows["anchor_x"], rows["anchor_y"] = watch.anchor_m.T
    rows["stood_x"], rows["stood_y"] = watch.stood["x"], watch.stood["y"]
    rows["stood_cell"] = watch.stood["cell"]
    return rows


def _side_by_side(parts: Sequence[Array]) -> Array:
    """All rows in one array, as wide as the widest; what is not written to is nan."""
    width = max(1, *(part.shape[1] for part in parts))
    if all(part.shape[1] == width for part in parts):
        return np.concatenate(parts)
    whole = np.full((sum(len(part) for part in parts), width), np.nan)
    at = 0
    for part in parts:
        whole[at : at + len(part), : part.shape[1]] = part
        at += len(part)
    return whole


def _at_least_one(parts: Sequence[NDArray[Any]]) -> NDArray[Any]:
    """All rows in one array, with one more where there is none: a card takes no empty array."""
    whole = np.concatenate(parts)
    return whole if len(whole) else np.zeros((1, *whole.shape[1:]), dtype=whole.dtype)
