"""From roster and scenario to bodies on the line, waiting for the gun."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.compiled import compiled
from simrun.course.start import StartLine
from simrun.course.strip import Obstacle, Strip
from simrun.engine.kernel.locate import cell_near
from simrun.laws.settings import Settings, settings_of
from simrun.runners.roster import Roster
from simrun.scenario.scenario import Scenario
from simrun.sources import figure
from simrun.state.arrays import (
    BODY,
    GONE,
    NEAR,
    NEAR_ROOM,
    RACED_BIN_M,
    RANK_BIN_M,
    ROW_SQUARES,
    SEEN,
    Records,
    Scratch,
    Tape,
    Ways,
)
from simrun.tactics.own.hooks import Hooks

Array = NDArray[np.float64]

PAIRS_A_BODY = 32
"""Room for pairs that may touch: more than the narrowest bodies, packed and squeezed as allowed, can make."""

PLAN = (
    *("opening_m", "sit_m", "move_m", "kick_m"),
    *("critical_m_s", "reserve_m", "look_phase"),
    *("drawn", "seek_m", "first_place", "last_place"),
)
"""What a body takes over from the roster as it is."""


def settings_for(scenario: Scenario, seed: int) -> Settings:
    """Which settings of the laws hold in the race of this day and seed?

    Those of the figures, but for the inputs that the day tells or draws.
    Check: tests/unit/engine/test_told_inputs.py.
    """
    return settings_of("runner", scenario.inputs.of_seed(seed))


def stand_m(line: StartLine, roster: Roster) -> Array:
    """Where every runner stands before the gun, (N, 2)."""
    key = roster.box * 1000 + roster.row
    _, group, counts = np.unique(key, return_inverse=True, return_counts=True)
    return line.stand_m(roster.box, roster.row, roster.file, counts[group])


def sound_delay_s(line: StartLine, stand: Array) -> Array:
    """How long after the gun is it heard where each stands? (N,)"""
    away = np.hypot(*(stand - line.gun_m).T)
    return away / figure("sound_m_s").value


def bodies_at(
    stand: Array,
    wait_s: Array,
    strip: Strip,
    ground: Records,
    roster: Roster,
    rounding_room_m: float,
) -> Records:
    """Everybody standing, facing the course; the fixed bodies of obstacles after them. (B,)"""
    fixed = strip.obstacles_m
    count = len(stand)
    bodies = np.zeros(count + len(fixed), dtype=BODY).view(np.recarray)
    bodies["x"], bodies["y"] = np.vstack([stand, fixed[:, :2]]).T
    bodies["radius_m"] = np.concatenate([roster.radius_m, fixed[:, 2]])
    bodies["heading_x"] = 1.0
    bodies["fixed"][count:] = 1
    for name in PLAN:
        bodies[name][:count] = getattr(roster, name)
    bodies["cruise_m_s"][:count] = roster.cruise_m_s * roster.pace_share
    bodies["opening"][:count] = roster.opening + roster.opens_more
    bodies["fresh_m_s"][:count] = roster.critical_m_s
    bodies["race_share"], bodies["course_share"], bodies["gap_m"] = 1.0, 1.0, 1e9
    bodies["settle_m"][:count] = np.maximum(roster.settle_m, 1e-9)
    bodies["full_m"][:count], bodies["finish_m"] = roster.reserve_m, strip.length_m
    bodies["wait_s"][:count] = wait_s
    bodies["room_m"] = rounding_room_m
    find_cells(bodies[:count], ground)
    return bodies


@compiled
def find_cells(bodies: Any, ground: Any) -> None:
    """In which cell does everybody stand? Looked for from the first on."""
    for i in range(len(bodies)):
        bodies[i].cell = cell_near(ground, 0, bodies[i].x, bodies[i].y)


def ways_of(
    roster: Roster,
    margins: tuple[Array, Array],
    obstacles: tuple[Obstacle, ...],
    front_m_s: Array | None = None,
    raced: Array | None = None,
    gives: Array | None = None,
    own: Hooks | None = None,
) -> Ways:
    """What each was given for the race: wander of the pace, margins of the way, over how much of a cut a line
    may be shifted (None: nowhere); what is run around; and the hooks of a behaviour of one's own."""
    corners = [np.zeros((0, 2)), *(thing.hull_m for thing in obstacles)]
    sides = [(thing.open_left, thing.open_right) for thing in obstacles]
    return Ways(
        wander=np.ascontiguousarray(roster.wander, dtype=float),
        margin_left=np.ascontiguousarray(margins[0]),
        margin_right=np.ascontiguousarray(margins[1]),
        gives_m=np.zeros(margins[0].shape[1]) if gives is None else gives,
        hull_m=np.vstack(corners),
        hull_begins=np.cumsum([len(part) for part in corners]),
        hull_open=np.array(sides, dtype=np.int64).reshape(-1, 2),
        front_m_s=np.zeros(0) if front_m_s is None else front_m_s,
        raced=np.zeros((0, 0)) if raced is None else raced,
        own=own,
    )


def scratch_for(count: int, settings: Settings, places_to_m: float = 0.0) -> Scratch:
    """Working room for so many bodies; places_to_m: so far along the course places are told (0: nowhere)."""
    bins = int(places_to_m / RANK_BIN_M) + 3 if places_to_m > 0.0 else 0
    buckets = 1 << int(np.ceil(np.log2(max(16, 2 * count))))
    return Scratch(
        begins=np.zeros(buckets + ROW_SQUARES + 1, dtype=np.int64),
        seen=np.zeros(2 * count, dtype=SEEN).view(np.recarray),
        hits=np.zeros(2 * count + 1, dtype=np.int64),
        pairs=np.zeros((PAIRS_A_BODY * count, 2), dtype=np.int64),
        near=np.zeros(NEAR_ROOM, dtype=NEAR).view(np.recarray),
        worth=np.zeros(2 * settings.tracks_a_side + 1),
        ranks=np.zeros(bins, dtype=np.int64),
    )


def tape_for(runners: int, frames: int, checkpoints: int, raced_to_m: float = 0.0) -> Tape:
    """Blank tape: nan until something is written; raced_to_m: how far racing is noted (0: not at all)."""
    bins = int(raced_to_m / RACED_BIN_M) + 2 if raced_to_m > 0.0 else 0
    return Tape(
        position=np.full((frames, runners, 2), np.nan, dtype=np.float32),
        speed_cm_s=np.full((frames, runners), GONE, dtype=np.int16),
        wished_cm_s=np.full((frames, runners), GONE, dtype=np.int16),
        crossing_s=np.full((runners, checkpoints), np.nan),
        reserve_m=np.full((runners, checkpoints), np.nan),
        overlap=np.zeros(1),
        raced_sum=np.zeros((runners, bins)),
        raced_times=np.zeros((runners, bins)),
    )
