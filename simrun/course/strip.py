"""What ground is raced on? The whole course as one chain of cross-cuts.

Between two cuts lies a four-sided cell; at a sharp turn the cells fold about the inner edge and may
have three sides. The race runs along +x from the middle of the start line, +y is to the left.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import IntEnum
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem

Array = NDArray[np.float64]

MEASURING_MARGIN_M = 0.30
"""How far off an edge the measured line runs. Source: road-course measuring procedures (seen)."""


class EdgeKind(IntEnum):
    """What stands at an edge? OPEN: nothing; MARKED: paint or flags; BARRIER: a wall or fence."""

    OPEN = 0
    MARKED = 1
    BARRIER = 2


class Side(IntEnum):
    """Left or right facing the way of the race; NONE where it does not matter."""

    LEFT = -1
    NONE = 0
    RIGHT = 1


@dataclass(frozen=True)
class Gate:
    """A place where a runner may choose: a named turn (inside, outside) or a throat (own share).

    `first_cut` to `last_cut` (both included) are the cross-cuts it covers; `inside` is the side on
    which a turn has its apex, NONE for a throat. On a lap course each lap has gates of its own.
    """

    name: str
    kind: str
    first_cut: int
    last_cut: int
    inside: Side = Side.NONE
    lap: int = 1


@dataclass(frozen=True)
class Mark:
    """A landmark or checkpoint: a name and where it is along the measured line, in metres.

    every_lap: on ground that is run more than once, one mark on every lap. place: what the place is
    called, whatever the lap; empty where that is the name.
    """

    name: str
    station_m: float
    every_lap: bool = False
    place: str = ""


@dataclass(frozen=True)
class Place:
    """Where the local frame lies in the world: the middle of the start line and the way it faces."""

    origin_m: tuple[float, float] = (0.0, 0.0)
    heading_rad: float = 0.0
    longitude_latitude_deg: tuple[float, float] | None = None


@dataclass(frozen=True)
class Obstacle:
    """Something that stands on the course: its name, and a convex outline with room for a body, (V, 2).

    open_left, open_right: is there room to pass it on that side?
    """

    name: str
    hull_m: Array
    open_left: bool = True
    open_right: bool = True

    @property
    def middle_m(self) -> Array:
        """About where it stands, (2,)."""
        return np.asarray(self.hull_m.mean(axis=0))


@dataclass(frozen=True)
class Strip:
    """The course from behind the start line to the run-out after the finish, K cuts, K-1 cells.

    left_m, right_m (K, 2): edge points of every cut. station_m (K,): metres along the measured
    line, zero at the middle of the start line, negative behind it. height_m (K,). footing (K-1,): share
    of the speed that the surface allows. left_edge, right_edge (K-1,): EdgeKind. bend_side (K,),
    bend_radius_m (K,), bend_angle_rad (K,): where a bend is, its inside side, inside-edge radius and
    whole angle (infinite radius, zero angle elsewhere). gate_of_cut (K,): index into `gates`, or -1.
    section (K-1,): index into `section_names`. obstacles_m (O, 3): fixed round bodies x, y, radius, which
    ring the `obstacles`. day_footing: what the day takes of the speed everywhere (mud); wind_m_s: where the
    wind blows to and how fast, in the local frame.
    """

    left_m: Array
    right_m: Array
    station_m: Array
    height_m: Array
    footing: Array
    left_edge: NDArray[np.int8]
    right_edge: NDArray[np.int8]
    bend_side: NDArray[np.int8]
    bend_radius_m: Array
    bend_angle_rad: Array
    gate_of_cut: NDArray[np.int16]
    gates: tuple[Gate, ...]
    section: NDArray[np.int16]
    section_names: tuple[str, ...]
    finish_cut: int
    obstacles_m: Array = field(default_factory=lambda: np.zeros((0, 3)))
    obstacles: tuple[Obstacle, ...] = ()
    landmarks: tuple[Mark, ...] = ()
    checkpoints: tuple[Mark, ...] = ()
    place: Place = Place()
    day_footing: float = 1.0
    wind_m_s: tuple[float, float] = (0.0, 0.0)

    @cached_property
    def on_a_usual_day(self) -> Strip:
        """The same course in a calm with its usual footing."""
        return replace(self, day_footing=1.0, wind_m_s=(0.0, 0.0))

    @property
    def headwind_m_s(self) -> Array:
        """How much of the wind blows against the runners in every cell? (K-1,), a tail wind below nothing."""
        step = np.diff(self.middle_m, axis=0)
        long = np.maximum(np.hypot(*step.T), 1e-9)
        return np.asarray(-(step @ np.array(self.wind_m_s)) / long, dtype=np.float64)

    @property
    def width_m(self) -> Array:
        """How wide is the course at every cut, in metres? (K,)"""
        return np.hypot(*(self.right_m - self.left_m).T)

    @property
    def middle_m(self) -> Array:
        """The middle of every cut, (K, 2)."""
        return (self.left_m + self.right_m) / 2

    @property
    def length_m(self) -> float:
        """How long is the measured line from start to finish?"""
        return float(self.station_m[self.finish_cut])

    def checkpoint_cuts(self) -> NDArray[np.int64]:
        """Which cut does every checkpoint stand on? (C,)"""
        stations = np.array([mark.station_m for mark in self.checkpoints])
        return np.abs(self.station_m[None, :] - stations[:, None]).argmin(axis=1)

    def point_at(self, station_m: float, share: float = 0.5) -> tuple[float, float]:
        """Where is the point at this station and share of the width (0 left, 1 right)?"""
        left = [np.interp(station_m, self.station_m, self.left_m[:, axis]) for axis in (0, 1)]
        right = [np.interp(station_m, self.station_m, self.right_m[:, axis]) for axis in (0, 1)]
        return tuple(float((1 - share) * a + share * b) for a, b in zip(left, right, strict=True))  # type: ignore[return-value]

    def to_world(self, position_m: Array) -> Array:
        """Local positions (..., 2) in the frame in which the course was drawn."""
        cosine, sine = np.cos(self.place.heading_rad), np.sin(self.place.heading_rad)
        x, y = position_m[..., 0], position_m[..., 1]
        turned = np.stack([cosine * x - sine * y, sine * x + cosine * y], axis=-1)
        return turned + np.array(self.place.origin_m)


def with_cut_at(strip: Strip, station_m: float) -> Strip:
    """The same course with one more cross-cut at `station_m`, unless a cut stands there already."""
    if np.abs(strip.station_m - station_m).min() < 1e-6:
        return strip
    cell = int(np.searchsorted(strip.station_m, station_m)) - 1
    if not 0 <= cell < len(strip.station_m) - 1:
        allowed = f"the course has {strip.length_m:.0f} m"
        raise BadInput(Problem("course", f"no ground at {station_m:g} m", allowed))
    before, after = strip.station_m[cell], strip.station_m[cell + 1]
    return with_cut_in(strip, cell, (station_m - before) / (after - before))


def with_cut_in(strip: Strip, cell: int, share: float) -> Strip:
    """The same course with one more cross-cut, this share of the way through a cell."""

    def blend(values: Array) -> Array:
        new = (1 - share) * values[cell] + share * values[cell + 1]
        return _put_in(values, cell + 1, new)

    def of_cell(values: NDArray) -> NDArray:
        return _put_in(values, cell, values[cell])

    def of_bend(values: NDArray, straight: float) -> NDArray:
        return _put_in(values, cell + 1, values[cell] if in_turn else straight)

    # Not by the sides of the two cuts: they may end one bend and begin another.
    turns = (gate for gate in strip.gates if gate.kind == "turn")
    in_turn = any(gate.first_cut <= cell < gate.last_cut for gate in turns)
    same = strip.gate_of_cut[cell] == strip.gate_of_cut[cell + 1]
    return replace(
        strip,
        left_m=blend(strip.left_m),
        right_m=blend(strip.right_m),
        station_m=blend(strip.station_m),
        height_m=blend(strip.height_m),
        footing=of_cell(strip.footing),
        left_edge=of_cell(strip.left_edge),
        right_edge=of_cell(strip.right_edge),
        section=of_cell(strip.section),
        bend_side=of_bend(strip.bend_side, 0),
        bend_radius_m=of_bend(strip.bend_radius_m, np.inf),
        bend_angle_rad=of_bend(strip.bend_angle_rad, 0.0),
        gate_of_cut=_put_in(strip.gate_of_cut, cell + 1, strip.gate_of_cut[cell] if same else -1),
        gates=tuple(_moved(gate, cell) for gate in strip.gates),
        finish_cut=strip.finish_cut + (cell < strip.finish_cut),
    )


def _put_in(values: NDArray[Any], at: int, new: Any) -> NDArray[Any]:
    """The same values with one more at this place; a course has hundreds of cuts to put in."""
    more = np.empty((len(values) + 1, *values.shape[1:]), dtype=values.dtype)
    more[:at], more[at], more[at + 1 :] = values[:at], new, values[at:]
    return more


def _moved(gate: Gate, cell: int) -> Gate:
    """The same gate after a cut was put in behind `cell`."""
    if gate.last_cut <= cell:
        return gate
    first = gate.first_cut + (gate.first_cut > cell)
    return Gate(gate.name, gate.kind, first, gate.last_cut + 1, gate.inside, gate.lap)
