"""What does the scenario say about the ground? Plain words on the way to a Strip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import EdgeKind, Mark, Side


@dataclass(frozen=True)
class Piece:
    """One length of course: straight, narrowing, turn, gap or trail; or "again", the pieces named `first`
    to `last` once more on the same ground.

    width_m: the width at its end, None keeps the width before. A narrowing comes in evenly over its
    length, from `side` alone or from both; every other piece takes its width within MOUTH_M.
    """

    kind: str
    name: str = ""
    length_m: float = 0.0
    width_m: float | None = None
    side: Side = Side.NONE
    angle_deg: float = 0.0
    inside_radius_m: float = 0.0
    around: str = ""
    left_edge: EdgeKind = EdgeKind.MARKED
    right_edge: EdgeKind = EdgeKind.MARKED
    surface: str = "grass"
    climb_m: float = 0.0
    first: str = ""
    last: str = ""


@dataclass(frozen=True)
class Laps:
    """The pieces named `first` to `last` are run `times` times."""

    first: str
    last: str
    times: int


@dataclass(frozen=True)
class Drawing:
    """A course drawn as GeoJSON: its text, its file's name, and what the text may leave out.

    widths_m: metres along a centre line and the width there, even between two of them.
    """

    text: str
    file: str
    left_edge: EdgeKind = EdgeKind.MARKED
    right_edge: EdgeKind = EdgeKind.MARKED
    width_m: float | None = None
    widths_m: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class CourseSource:
    """Everything a Strip is built from: pieces or a drawing, laps, marks, room behind the line.

    stands: every box that is run from and the places in it, (P, 2); no obstacle of a drawing may be there.
    """

    start_width_m: float
    apron_m: float
    pieces: tuple[Piece, ...] = ()
    drawing: Drawing | None = None
    laps: Laps | None = None
    checkpoints: tuple[Mark, ...] = ()
    landmarks: tuple[Mark, ...] = ()
    stands: tuple[tuple[int, NDArray[np.float64]], ...] = ()
