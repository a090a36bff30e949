"""Which places of the course carry a name, and where is each named?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.start import StartLine
from simrun.course.strip import Gate, Side, Strip
from simrun.pictures.ink.lettering import plain
from simrun.pictures.ink.view import width_words
from simrun.pictures.map.terrain import backward

Array = NDArray[np.float64]

SAME_PLACE_M = 20.0
"""Laps pass the same place again: the same name so near is written once."""

SECTION, THING, CHECKPOINT, LANDMARK, GATE, FINISH, BOX, OUR_BOX = range(1, 9)
"""How important is a name? The more important is written first. Landmarks get a peg."""


@dataclass(frozen=True)
class Sign:
    """A name at a place (2,), and the way (2,), a unit vector, in which the course is left.

    importance: the greater is placed first where two would overlap. flag: marked by a small peg.
    """

    text: str
    place_m: Array
    outward: Array
    importance: int
    flag: bool = False


def signs(strip: Strip, units: str) -> tuple[Sign, ...]:
    """Every named place of the course once: turns, narrowings, marks, obstacles, the finish."""
    kept: list[tuple[str, Sign]] = []
    for name, sign in _all(strip, units):
        same = [old.place_m for known, old in kept if known == name]
        if sign.text and all(np.hypot(*(old - sign.place_m)) > SAME_PLACE_M for old in same):
            kept.append((name, sign))
    return tuple(sorted((sign for _, sign in kept), key=lambda sign: -sign.importance))


def _all(strip: Strip, units: str) -> Iterator[tuple[str, Sign]]:
    for gate in strip.gates:
        yield gate.name, _gate_sign(strip, gate, units)
    for mark in strip.landmarks:
        name = mark.place or mark.name
        yield name, _mark_sign(strip, name, mark.station_m, Side.LEFT, LANDMARK)
    for mark, cut in zip(strip.checkpoints, strip.checkpoint_cuts(), strict=True):
        name = mark.place or mark.name
        yield name, _sign_at(strip, name, int(cut), Side.RIGHT, CHECKPOINT)
    if "finish" not in {mark.name for mark in strip.checkpoints}:
        yield "finish", _sign_at(strip, "finish", strip.finish_cut, Side.RIGHT, FINISH)
    for thing in strip.obstacles:
        above = np.array([thing.middle_m[0], thing.hull_m[:, 1].max()])  # not across it
        yield thing.name, Sign(plain(thing.name), above, np.array([0.0, 1.0]), THING)
    yield from _section_signs(strip)


def _gate_sign(strip: Strip, gate: Gate, units: str) -> Sign:
    """A turn is named outside its bend, a throat where it is narrowest, with its width."""
    if gate.kind == "turn":
        outside = Side.LEFT if gate.inside == Side.RIGHT else Side.RIGHT
        return _sign_at(strip, gate.name, (gate.first_cut + gate.last_cut) // 2, outside, GATE)
    widths = strip.width_m[gate.first_cut : gate.last_cut + 1]
    cut = gate.first_cut + int(widths.argmin())
    text = f"{gate.name}, {width_words(float(widths.min()), units)}"
    return _sign_at(strip, text, cut, Side.LEFT, GATE)


def _mark_sign(strip: Strip, name: str, station_m: float, side: Side, importance: int) -> Sign:
    cut = int(np.abs(strip.station_m - station_m).argmin())
    outward = _outward(strip, cut, side)
    share = 0.0 if side == Side.LEFT else 1.0
    place = np.array(strip.point_at(station_m, share))
    return Sign(plain(name), place, outward, importance, flag=importance == LANDMARK)


def _sign_at(strip: Strip, name: str, cut: int, side: Side, importance: int) -> Sign:
    edge = strip.left_m if side == Side.LEFT else strip.right_m
    return Sign(plain(name), edge[cut], _outward(strip, cut, side), importance)


def _outward(strip: Strip, cut: int, side: Side) -> Array:
    across = strip.right_m[cut] - strip.left_m[cut]
    return (-1 if side == Side.LEFT else 1) * across / max(float(np.hypot(*across)), 1e-9)


def _section_signs(strip: Strip) -> Iterator[tuple[str, Sign]]:
    """The names of the stretches between the gates, where they have names of their own."""
    taken = {gate.name for gate in strip.gates} | {"straight", "trail", "gap", "turn", "narrowing"}
    for index, name in enumerate(strip.section_names):
        cells = np.flatnonzero(strip.section == index)
        if name not in taken and len(cells):
            stretch = np.split(cells, np.flatnonzero(np.diff(cells) > 1) + 1)[0]
            middle = float(strip.station_m[[stretch[0], stretch[-1] + 1]].mean())
            yield name, _mark_sign(strip, name, middle, Side.LEFT, SECTION)


def box_signs(start: StartLine, depth_m: float, ours: set[int]) -> tuple[Sign, ...]:
    """The numbers of the boxes behind whoever stands in them; `ours` come first."""
    found = []
    for box in start.boxes:
        back = backward(box)
        place = (box.left_m + box.right_m) / 2 + back * depth_m
        found.append(Sign(str(box.number), place, back, OUR_BOX if box.number in ours else BOX))
    return tuple(found)


def numbered(sign: Sign, every: int) -> bool:
    """Is this sign written where only every so many-th box has room for its number?"""
    return sign.importance != BOX or sign.text == "1" or int(sign.text) % every == 0
