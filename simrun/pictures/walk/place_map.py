"""One piece of the course from above, the way ahead to the right, as outlines that a page can show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.route import Line
from simrun.course.strip import EdgeKind, Strip
from simrun.pictures.ink.placing import Box, box_at, overlap

Array = NDArray[np.float64]

SHAPE = 1.6
"""A map is so many times wider than high."""

LEAST_M, BEFORE_M, AFTER_M, BESIDE_SHARE = 48.0, 12.0, 8.0, 0.07
"""So much is shown at least, so much before the place and behind the next, and room beside the course."""

BEYOND_M = 80.0
"""The ground goes on beyond the picture: what is cut off looks like the end of the course."""

LETTER_SHARE, LETTER_WIDE = 0.036, 0.66
"""A letter is so high, as a share of the map's width, and so wide, as a share of its height."""

EDGES = {EdgeKind.OPEN: "open", EdgeKind.MARKED: "marked", EdgeKind.BARRIER: "barrier"}


@dataclass(frozen=True)
class Name:
    """A named spot: its text, where the text's middle lies, and the spot itself; in metres of the map."""

    text: str
    x: float
    y: float
    spot: tuple[float, float]


@dataclass(frozen=True)
class PlaceMap:
    """One piece of the course in metres, x to the right and y down, turned so that the way leads right.

    box: left, top, width, height. ground: the course; edges: by kind; way: the shortest way there. Each is
    the text of an outline in absolute points, M and L. names: what is written; letter_m: how high.
    """

    box: tuple[float, float, float, float]
    ground: str
    edges: dict[str, str]
    way: str
    arrow: str
    names: tuple[Name, ...]
    letter_m: float
    turn: Array

    def turned(self, points_m: NDArray) -> Array:
        """Places of the course (..., 2) in the frame of the map."""
        return np.asarray(points_m, dtype=float) @ self.turn


def place_map(
    strip: Strip, line: Line, ends_m: tuple[float, float], named: Sequence[tuple[str, float]]
) -> PlaceMap:
    """The ground from one place to another, with a way through it.

    ends_m, named: by metres along the measured line; named: what stands where.

    Check: tests/unit/pictures/test_place_map.py.
    """
    from_m, to_m = ends_m
    begin = from_m - BEFORE_M
    turn = _turn(strip, from_m, to_m)
    left, right = strip.left_m @ turn, strip.right_m @ turn
    shown = np.concatenate(
        [
            [strip.point_at(at, share) for share in (0.0, 1.0)]
            for at in _between(strip, begin, to_m + AFTER_M)
        ]
    )
    box = _box(shown @ turn)
    shown_cuts = np.flatnonzero(
        (strip.station_m > begin - BEYOND_M) & (strip.station_m < to_m + BEYOND_M)
    )
    # Cuts lie far apart on a straight: one more on either side.
    low, high = max(0, int(shown_cuts[0]) - 1), min(len(left) - 1, int(shown_cuts[-1]) + 1)
    way = _way(line, max(0.0, begin), to_m + AFTER_M) @ turn
    letter = LETTER_SHARE * box[2]
    return PlaceMap(
        box,
        _outline([*left[low : high + 1], *right[low : high + 1][::-1]]),
        _edges(strip, left, right, (low, high)),
        _outline(way),
        _arrow(way, letter),
        _names(strip, turn, box, named, letter),
        letter,
        turn,
    )


def _way(line: Line, from_m: float, to_m: float) -> Array:
    """The line from one place to another, both on it."""
    along = np.concatenate([[0.0], line.along_m])
    point = np.vstack([[0.0, 0.0], line.point_m])
    end_m = min(to_m, line.length_m)
    at = np.array([from_m, *along[(along > from_m) & (along < end_m)], end_m])
    return np.stack([np.interp(at, along, point[:, k]) for k in (0, 1)], axis=-1)


def _between(strip: Strip, from_m: float, to_m: float) -> Array:
    """The cuts between two places, and the two."""
    inner = strip.station_m[(strip.station_m > from_m) & (strip.station_m < to_m)]
    return np.array([from_m, *inner, to_m])


def _turn(strip: Strip, from_m: float, to_m: float) -> Array:
    """Turned so that the end lies to the right of the beginning; y is down, so left is up."""
    one, other = (np.array(strip.point_at(at)) for at in (from_m, to_m))
    ahead = other - one
    if np.hypot(*ahead) < 5.0:
        ahead = np.array(strip.point_at(from_m + 5.0)) - one
    cosine, sine = ahead / max(float(np.hypot(*ahead)), 1e-9)
    return np.array([[cosine, sine], [sine, -cosine]])


def _box(points: Array) -> tuple[float, float, float, float]:
    """The box of the shape SHAPE around these points."""
    low, high = points.min(axis=0), points.max(axis=0)
    wide, tall = (high - low) * (1 + 2 * BESIDE_SHARE)
    wide = max(wide, SHAPE * (tall + 2 * BESIDE_SHARE * wide), LEAST_M)
    middle = (low + high) / 2
    left, top = middle - np.array([wide, wide / SHAPE]) / 2
    return tuple(round(float(each), 2) for each in (left, top, wide, wide / SHAPE))  # type: ignore[return-value]


def _outline(points: Sequence[Array] | Array) -> str:
    """M x y L x y ..., to the centimetre."""
    texts = [f"{point[0]:.2f} {point[1]:.2f}" for point in points]
    return f"M{'L'.join(texts)}" if texts else ""


def _edges(strip: Strip, left: Array, right: Array, cells: tuple[int, int]) -> dict[str, str]:
    """Both edges by kind, one line as long as the kind stays."""
    found: dict[str, list[str]] = {}
    for points, kinds in ((left, strip.left_edge), (right, strip.right_edge)):
        start = cells[0]
        for k in range(cells[0], cells[1]):
            if k + 1 == cells[1] or kinds[k + 1] != kinds[start]:
                word = EDGES[EdgeKind(int(kinds[start]))]
                found.setdefault(word, []).append(_outline(points[start : k + 2]))
                start = k + 1
    return {word: "".join(lines) for word, lines in found.items()}


def _arrow(way: Array, letter_m: float) -> str:
    """The head of an arrow at the end of the way."""
    if len(way) < 2:
        return ""
    tip = way[-1]
    behind = way[np.hypot(*(way - tip).T) > 0.5 * letter_m]
    ahead = tip - (behind[-1] if len(behind) else way[0])
    ahead = ahead / max(float(np.hypot(*ahead)), 1e-9)
    aside = np.array([-ahead[1], ahead[0]])
    back = tip - 1.1 * letter_m * ahead
    return _outline([back + 0.45 * letter_m * aside, tip, back - 0.45 * letter_m * aside])


def _names(
    strip: Strip,
    turn: Array,
    box: tuple[float, float, float, float],
    named: Sequence[tuple[str, float]],
    letter_m: float,
) -> tuple[Name, ...]:
    """Every name beside the course where one is free, off the ground and inside the map; else none."""
    fine = np.arange(max(0.0, float(strip.station_m[0])), strip.length_m, 3.0).tolist()
    ground = 100 * np.array([strip.point_at(at) for at in fine]) @ turn
    half = 50 * np.interp(fine, strip.station_m, strip.width_m)
    taken: list[Box] = []
    found: list[Name] = []
    for text, at_m in named:
        extent = np.array([LETTER_WIDE * letter_m * len(text), 1.25 * letter_m]) * 100
        for spot, way in _tries(strip, at_m, turn, letter_m):
            # Boxes are whole numbers: centimetres here.
            place = box_at(spot * 100, extent, way * 100)
            if _is_inside(place, box) and not any(overlap(place, other) for other in taken):
                if _lies_on(place, ground, half):
                    continue
                taken.append(place)
                x, y = (place[0] + place[2]) / 200, (place[1] + place[3]) / 200
                found.append(Name(text, x, y, (float(spot[0]), float(spot[1]))))
                break
    return tuple(found)


def _tries(strip: Strip, at_m: float, turn: Array, letter_m: float):  # type: ignore[no-untyped-def]
    """Either edge at this place, and ways off it: near first."""
    edges = [np.array(strip.point_at(at_m, share)) @ turn for share in (0.0, 1.0)]
    out = edges[0] - edges[1]
    out = out / max(float(np.hypot(*out)), 1e-9)
    along = np.array([-out[1], out[0]])
    for reach in (0.6, 1.4, 2.4, 3.6):
        for lean in (0.0, 0.7, -0.7):
            for edge, side in ((edges[0], 1.0), (edges[1], -1.0)):
                yield edge, reach * letter_m * (side * out + lean * along)


def _is_inside(place: Box, box: tuple[float, float, float, float]) -> bool:
    left, top, wide, high = (100 * each for each in box)
    return place[0] > left and place[1] > top and place[2] < left + wide and place[3] < top + high


def _lies_on(place: Box, ground_cm: Array, half_cm: Array) -> bool:
    """Does a text lie on the course, told as discs?"""
    x, y = ground_cm.T
    dx = np.maximum(np.maximum(place[0] - x, x - place[2]), 0.0)
    dy = np.maximum(np.maximum(place[1] - y, y - place[3]), 0.0)
    return bool((dx * dx + dy * dy < half_cm * half_cm).any())
