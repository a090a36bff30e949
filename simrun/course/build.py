"""From what the scenario says about the ground to a Strip that can be raced on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.course.approach import with_approaches
from simrun.course.measured import gate_of_cut, measured_stations
from simrun.course.pieces import RUN_OUT_CELLS, Chain, Span, edge_kinds, lay_pieces
from simrun.course.source import CourseSource, Piece
from simrun.course.strip import Gate, Mark, Side, Strip, with_cut_at
from simrun.course.surface import footing_share

Array = NDArray[np.float64]

BODY_ROOM_M = 0.6
"""The least width of a course: one body and a hand's breadth on each side (assumed)."""


def build_strip(source: CourseSource) -> Strip:
    """Build the course; raises BadInput where it cannot be run.

    Check: tests/unit/course/test_build.py, tests/validation/test_geometry.py.
    """
    if source.drawing is not None:
        from simrun.course.drawing.drawn_strip import strip_from_drawing

        strip = strip_from_drawing(source)
        return finished(strip, source)
    chain = lay_pieces(source)
    strip = _strip_from_pieces(chain, source)
    marks = on_every_lap(source.checkpoints, strip.station_m, chain.repeats)
    landmarks = on_every_lap(source.landmarks, strip.station_m, chain.repeats)
    return finished(strip, replace(source, checkpoints=marks, landmarks=landmarks))


def on_every_lap(
    marks: tuple[Mark, ...], station_m: Array, repeats: list[tuple[int, int, int]]
) -> tuple[Mark, ...]:
    """The marks, those that are wanted on every lap once on each: "gateway, lap 2".

    repeats: first and last cut of ground that is laid again, and how many cuts further on.
    """
    told = []
    for mark in marks:
        cell = int(np.searchsorted(station_m, mark.station_m, side="right")) - 1
        again = [shift for begin, end, shift in repeats if begin <= cell < end]
        if not (mark.every_lap and again):
            told.append(mark)
            continue
        over = mark.station_m - station_m[cell]
        at_m = [mark.station_m] + [float(station_m[cell + shift] + over) for shift in again]
        told += [
            Mark(f"{mark.name}, lap {lap}", at, True, mark.name)
            for lap, at in enumerate(at_m, start=1)
        ]
    return tuple(told)


def finished(strip: Strip, source: CourseSource) -> Strip:
    """Check the cuts, put cuts under the checkpoints, carry the marks."""
    check_cuts(strip)
    marks = strip.checkpoints + source.checkpoints or (Mark("finish", strip.length_m),)
    for mark in marks + strip.landmarks + source.landmarks:
        _check_on_course(strip, mark)
    for mark in marks:
        strip = with_cut_at(strip, min(mark.station_m, strip.length_m))
    on_cuts = tuple(replace(m, station_m=min(m.station_m, strip.length_m)) for m in marks)
    strip = with_approaches(strip)
    ordered = tuple(sorted(on_cuts, key=lambda mark: mark.station_m))
    landmarks = tuple(sorted(strip.landmarks + source.landmarks, key=lambda mark: mark.station_m))
    return replace(strip, checkpoints=ordered, landmarks=landmarks)


def _check_on_course(strip: Strip, mark: Mark) -> None:
    if not 0 < mark.station_m <= strip.length_m + 0.5:
        allowed = f"the measured line runs from 0 to {strip.length_m:.1f} m"
        raise BadInput(Problem(f"course: mark {mark.name!r}", f"{mark.station_m:g} m", allowed))


def _strip_from_pieces(chain: Chain, source: CourseSource) -> Strip:
    left_m, right_m = np.array(chain.left), np.array(chain.right)
    left_edge, right_edge = edge_kinds(chain, source.pieces)
    bend_side, bend_radius, bend_angle = (np.array(row) for row in zip(*chain.bend, strict=True))
    gates = _gates(chain, source.pieces)
    station, finish = measured_stations(left_m, right_m, last=len(left_m) - 1 - RUN_OUT_CELLS)
    return Strip(
        left_m=left_m,
        right_m=right_m,
        station_m=station,
        height_m=np.array(chain.height),
        footing=np.array([footing_share(source.pieces[i].surface) for i in chain.cell_piece]),
        left_edge=left_edge,
        right_edge=right_edge,
        bend_side=bend_side.astype(np.int8),
        bend_radius_m=bend_radius.astype(float),
        bend_angle_rad=bend_angle.astype(float),
        gate_of_cut=gate_of_cut(gates, len(left_m)),
        gates=gates,
        section=np.array(chain.cell_piece, dtype=np.int16),
        section_names=tuple(piece.name or piece.kind for piece in source.pieces),
        finish_cut=finish,
    )


def _gates(chain: Chain, pieces: tuple[Piece, ...]) -> tuple[Gate, ...]:
    ordered = sorted(chain.spans, key=lambda span: span.first_cut)
    turns = {span.piece for span in ordered if pieces[span.piece].kind == "turn"}
    number = {piece: i + 1 for i, piece in enumerate(sorted(turns))}
    return tuple(_gate(span, pieces[span.piece], number.get(span.piece, 0)) for span in ordered)


def _gate(span: Span, piece: Piece, number: int) -> Gate:
    turn = piece.kind == "turn"
    name = piece.name or (f"turn {number}" if turn else piece.kind)
    inside = piece.side if turn else Side.NONE
    kind = "turn" if turn else "throat"
    return Gate(name, kind, span.first_cut, span.last_cut, inside, span.lap)


def check_cuts(strip: Strip) -> None:
    """Refuse a course that is too narrow for a body or whose neighbouring cuts cross."""
    narrow = int(strip.width_m.argmin())
    if not strip.width_m[narrow] >= BODY_ROOM_M:
        found = f"{strip.width_m[narrow]:.2f} m wide at {strip.station_m[narrow]:.0f} m"
        raise BadInput(Problem("course", found, f"at least {BODY_ROOM_M} m, one body, is needed"))
    crossing = np.flatnonzero(_cell_turned_over(strip))
    if len(crossing):
        where = strip.station_m[crossing[0]]
        found = f"the edges cross or a turn is tighter than its width allows at {where:.0f} m"
        raise BadInput(Problem("course", found, "both edges must run forward side by side"))


def _cell_turned_over(strip: Strip) -> NDArray[np.bool_]:
    """Which cells have an edge that runs backward as seen from either of its cuts? (K-1,)"""
    across = strip.right_m - strip.left_m
    forward = np.stack([-across[:, 1], across[:, 0]], axis=1) / strip.width_m[:, None]
    turned = np.zeros(len(across) - 1, dtype=bool)
    for edge in (strip.left_m, strip.right_m):
        step = np.diff(edge, axis=0)
        for ahead in (forward[:-1], forward[1:]):
            turned |= (step * ahead).sum(axis=1) < -1e-6
    return turned
