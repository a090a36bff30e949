"""The invented championship course of scenarios/ostrel_common.geojson, drawn by a formula.

Run it to write the file again: python tests/helpers/ostrel_common.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simrun.course.drawing.drawn import DrawnCourse, DrawnMark
from simrun.course.drawing.drawn_text import to_geojson
from simrun.course.strip import EdgeKind, Place

FILE = Path(__file__).parents[2] / "scenarios" / "ostrel_common.geojson"
DESCRIPTION = (
    "Invented course, invented place: the coordinates lie in the open sea of the South Atlantic,"
    " where no course can be. Edges, obstacle and marks were computed, not surveyed."
)
PLACE = Place((0.0, 0.0), np.deg2rad(20.0), (-20.5, -35.25))

PIECES = ((450, 6), (260, 100), (110, -55), (110, 60), (100, 0), (0, 90), (120, 0), (150, -70))
"""Metres of the centre line and degrees of turn, left positive; (0, 90) is the sharp corner."""

LAST_STRAIGHT_M = 338.0
CORNER_AT_M = 1030.0
CORNER_WIDTH_M = 10.0
WIDTHS = (
    (0, 100), (40, 100), (200, 62), (330, 32), (450, 20), (710, 14), (820, 12), (930, 12),
    (960, 10), (1150, 10), (1300, 15), (1700, 15),
)  # fmt: skip


def centre_at(station_m: float) -> tuple[np.ndarray, np.ndarray]:
    """The point of the centre line and the way to its left, at a station; after a sharp corner."""
    point, heading, left = np.zeros(2), 0.0, float(station_m)
    for length, turn_deg in (*PIECES, (LAST_STRAIGHT_M + 100, 0)):
        turn = np.deg2rad(turn_deg)
        run = min(left, length)
        after = heading + (turn * run / length if length else turn)
        chord = run * np.sinc((after - heading) / 2 / np.pi)
        middle = (heading + after) / 2
        point = point + chord * np.array([np.cos(middle), np.sin(middle)])
        heading, left = after, left - run
        if left == 0 and length:
            break
    return point, np.array([-np.sin(heading), np.cos(heading)])


def width_at(station_m: float) -> float:
    """How wide is the course there?"""
    return float(np.interp(station_m, *np.array(WIDTHS, dtype=float).T))


def edge(sign: float, spacing_m: float) -> tuple[np.ndarray, np.ndarray]:
    """One edge (+1 left, -1 right) as points and their stations; it leaves room for the corner."""
    finish = sum(length for length, _ in PIECES) + LAST_STRAIGHT_M
    stations = np.append(np.arange(0.0, finish - spacing_m / 2, spacing_m), finish)
    stations = stations[np.abs(stations - CORNER_AT_M) > CORNER_WIDTH_M]
    rows = [centre_at(s) for s in stations]
    points = [c + sign * width_at(s) / 2 * n for s, (c, n) in zip(stations, rows, strict=True)]
    at = int(np.searchsorted(stations, CORNER_AT_M))
    corner = corner_points(sign)
    return (
        np.array(points[:at] + corner + points[at:]),
        np.concatenate([stations[:at], np.full(len(corner), CORNER_AT_M), stations[at:]]),
    )


def corner_points(sign: float) -> list[np.ndarray]:
    """The corner of the pavilion on the left; on the right three flags about it."""
    point, before = centre_at(CORNER_AT_M)
    after = np.array([-before[1], before[0]])
    inner = point + (before + after) * CORNER_WIDTH_M / 2
    if sign > 0:
        return [inner]
    away = (before + after) / np.sqrt(2) * (CORNER_WIDTH_M + 1)
    return [inner - before * CORNER_WIDTH_M, inner - away, inner - after * CORNER_WIDTH_M]


def beside(station_m: float, left_m: float = 0.0) -> tuple[float, float]:
    """A point so many metres to the left of the centre line."""
    point, to_left = centre_at(station_m)
    x, y = point + left_m * to_left
    return float(x), float(y)


def ring(station_m: float, left_m: float) -> np.ndarray:
    """A ring of stakes, 2 m across, round a tree."""
    angle = np.linspace(0.0, 2 * np.pi, 13)
    points = np.array(beside(station_m, left_m)) + np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return np.vstack([points[:-1], points[:1]])


def ostrel_common() -> str:
    """The text of the file: both edges are drawn apart, without matching points."""
    left_m, left_at = edge(1.0, 12.0)
    right_m, right_at = edge(-1.0, 17.0)
    near = np.abs((left_at[:-1] + left_at[1:]) / 2 - CORNER_AT_M) < CORNER_WIDTH_M + 6
    left_kinds = np.where(near, EdgeKind.BARRIER, EdgeKind.MARKED).astype(np.int8)
    right_kinds = np.where(right_at[1:] <= 340, EdgeKind.OPEN, EdgeKind.MARKED).astype(np.int8)
    course = DrawnCourse(
        left_m=left_m,
        right_m=right_m,
        left_edge=left_kinds,
        right_edge=right_kinds,
        height_m=np.zeros(1),
        place=PLACE,
        landmarks=(
            DrawnMark("hay cart", beside(230.0, 45.0)),
            DrawnMark("old well", beside(790.0, 12.0)),
            DrawnMark("long bend", beside(580.0)),
            DrawnMark("dip", beside(765.0)),
            DrawnMark("rise", beside(875.0)),
            DrawnMark("pavilion", beside(CORNER_AT_M, 16.0)),
        ),
        checkpoints=(DrawnMark("400 m", beside(400.2)), DrawnMark("1 km", beside(1021.5))),
        turns=(DrawnMark("pavilion corner", beside(CORNER_AT_M)),),
        obstacles=(("tree ring", ring(180.0, 8.0)),),
    )
    return to_geojson(course, DESCRIPTION)


if __name__ == "__main__":
    FILE.write_text(ostrel_common(), encoding="utf-8")
