"""Which marks does a team go by? Landmarks first, then the file's checkpoints, narrow pieces and the plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from simrun.course.strip import Strip
from simrun.measure.finish import START_ENDS_M
from simrun.measure.squad.where_to_be import Narrow, narrow_pieces
from simrun.scenario.plans import STAGES

GUN, LANDMARK, CHECKPOINT, GROUND, STAGE, FINISH = (
    *("gun", "landmark", "checkpoint", "ground", "stage"),
    "finish",
)
IMPORTANCE = {GUN: 9, FINISH: 9, STAGE: 8, LANDMARK: 6, CHECKPOINT: 3, GROUND: 2}
LEADS_IN = 2
"""So much more important is the last mark before a narrow piece."""

AT_THE_START = 1.5
"""And while the start is on it counts so much more: there everybody is still together."""

LEADS_FROM_M = 250.0
"""A landmark so near before a narrow piece leads into it, whatever else lies between."""

ROOM_POWER = 0.5
"""How much it counts that a long way would be left without a mark."""

SAME_SPOT_M, FINE_M = 3.0, 2.0
"""The course comes by a landmark again where it comes as near as this, looked at every so many metres."""

MOST_MARKS = 9
"""Nobody keeps more in mind, the gun left out; and so many stand on one sheet."""

APART_M = 25.0
"""Two marks nearer than this are one."""

AT_M = 12.0
"""A stage that begins so near to a mark begins at the mark."""


@dataclass(frozen=True)
class SheetMark:
    """One mark of the sheet.

    name: what is seen there; off_m: how far beyond it the mark lies (before it: a minus). kind: where it
    comes from. stages: what the plan begins here, each with the numbers of the runners who do. narrow: the
    piece that closes down ahead of it, where it is the last mark before.
    """

    name: str
    at_m: float
    kind: str
    off_m: float = 0.0
    stages: tuple[tuple[str, tuple[int, ...]], ...] = ()
    narrow: Narrow | None = None

    @property
    def importance(self) -> float:
        """Which marks are left out first? The least important."""
        begins = IMPORTANCE[STAGE] if self.stages else 0
        own = max(IMPORTANCE[self.kind], begins)
        if self.narrow is None:
            return own
        return (own + LEADS_IN) * (AT_THE_START if self.at_m < START_ENDS_M else 1.0)


Begins = dict[float, tuple[tuple[str, tuple[int, ...]], ...]]
"""Where the plan's stages begin: metres, and who begins what there."""


def sheet_marks(strip: Strip, begins: Begins, most: int = MOST_MARKS) -> tuple[SheetMark, ...]:
    """The marks from gun to finish, in order; no more than `most` after the gun, the most important.

    Check: tests/unit/answers/test_sheet.py.
    """
    known = list(_known(strip))
    marks = _with_stages(known, begins, strip.length_m)
    marks = _leading_in(marks, narrow_pieces(strip))
    dropped = drop_order(marks)[: max(0, len(marks) - most - 1)]
    return tuple(mark for mark in marks if mark not in dropped)


def drop_order(marks: Sequence[SheetMark]) -> list[SheetMark]:
    """Which marks are left out first where there is no room? Never the first and the last.

    The least important, where the shortest way would be left without a mark; where the plan begins
    something last of all.
    """
    left, order = list(marks), []
    while len(left) > 2:
        inner = [mark for mark in left[1:-1] if not mark.stages] or left[1:-1]
        least = min(inner, key=lambda mark: mark.importance * _room(left, mark) ** ROOM_POWER)
        left.remove(least)
        order.append(least)
    return order


def _known(strip: Strip) -> Iterable[SheetMark]:
    """Gun, landmarks, checkpoints, gates and finish, none nearer than APART_M to a more telling one."""
    finish = SheetMark("finish", strip.length_m, FINISH)
    gun = SheetMark("gun", 0.0, GUN)
    told = [SheetMark(m.name, m.station_m, LANDMARK) for m in strip.landmarks]
    told += _come_by_again(strip)
    told += [SheetMark(m.name, m.station_m, CHECKPOINT) for m in strip.checkpoints]
    told += [
        SheetMark(
            f"{gate.name}, lap {gate.lap}" if _runs_again(strip, gate.name) else gate.name,
            float(strip.station_m[gate.first_cut]),
            GROUND,
        )
        for gate in strip.gates
    ]
    kept = [gun, finish]
    for mark in told:
        names = {other.name for other in kept}
        if mark.name not in names and all(abs(mark.at_m - k.at_m) >= APART_M for k in kept):
            kept.append(mark)
    return sorted(kept, key=lambda mark: mark.at_m)


def _come_by_again(strip: Strip) -> Iterator[SheetMark]:
    """The landmarks that the course comes by again on a later lap, whether the file says so or not."""
    at_m = np.arange(0.0, strip.length_m, FINE_M)
    path = np.array([strip.point_at(float(at)) for at in at_m])
    for mark in strip.landmarks:
        away = np.hypot(*(path - np.array(strip.point_at(mark.station_m))).T)
        near = np.flatnonzero(away <= SAME_SPOT_M)
        groups = np.split(near, np.flatnonzero(np.diff(near) > 1) + 1)
        later = [g for g in groups if len(g) and at_m[g[0]] > mark.station_m + APART_M]
        for lap, group in enumerate(later, start=2):
            at = float(at_m[group[away[group].argmin()]])
            yield SheetMark(f"{mark.place or mark.name}, lap {lap}", at, LANDMARK)


def _runs_again(strip: Strip, name: str) -> bool:
    return sum(gate.name == name for gate in strip.gates) > 1


def _with_stages(known: list[SheetMark], begins: Begins, end_m: float) -> list[SheetMark]:
    """Every stage at the mark where it begins, or at a mark of its own told by the nearest one."""
    marks = list(known)
    for at_m, stages in sorted(begins.items()):
        near = min(known, key=lambda mark: abs(mark.at_m - at_m))
        off_m = at_m - near.at_m
        if abs(off_m) <= AT_M:
            here = next(i for i, mark in enumerate(marks) if mark.name == near.name)
            marks[here] = replace(marks[here], stages=(*marks[here].stages, *stages))
        elif at_m < end_m:
            marks.append(SheetMark(near.name, at_m, STAGE, off_m, stages))
    return sorted(marks, key=lambda mark: mark.at_m)


def _leading_in(marks: list[SheetMark], pieces: Sequence[Narrow]) -> list[SheetMark]:
    """The last mark before every narrow piece knows what is ahead; the gun leads into nothing."""
    found = list(marks)
    for piece in pieces:
        before = [
            i
            for i, mark in enumerate(marks)
            if i > 0 and mark.kind != FINISH and mark.at_m < piece.from_m + 1.0
        ]
        near = [
            i
            for i in before
            if marks[i].kind == LANDMARK and piece.from_m - marks[i].at_m <= LEADS_FROM_M
        ]
        lead = max(near or before, default=0)
        if lead and found[lead].narrow is None:
            found[lead] = replace(found[lead], narrow=piece)
    return found


def _room(marks: list[SheetMark], mark: SheetMark) -> float:
    """How long a way without a mark would be left if this one were left out?"""
    i = marks.index(mark)
    return marks[i + 1].at_m - marks[i - 1].at_m


def begins_of(plan: dict[str, np.ndarray]) -> Begins:
    """Where do the stages begin, and for whom? plan: metres by stage, (R,) each, endless for never."""
    found: Begins = {}
    for stage in STAGES:
        for at_m in np.unique(plan[stage][np.isfinite(plan[stage])]):
            who = tuple(int(i) for i in np.flatnonzero(plan[stage] == at_m))
            found[float(at_m)] = (*found.get(float(at_m), ()), (stage, who))
    return found
