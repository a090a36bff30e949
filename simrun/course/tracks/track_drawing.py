"""A line somebody recorded becomes a drawing that can be raced; and a course becomes a GPX track."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadInput, Problem
from simrun.base.units import METRES_A_MILE
from simrun.course.drawing.drawn import read_drawing
from simrun.course.drawing.drawn_checks import FARTHEST_MARK_M
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.source import Drawing
from simrun.course.strip import Strip
from simrun.course.tracks.track_lines import Tracks
from simrun.course.tracks.track_tidy import SMOOTHED_M, THINNED_M, Trail, rounded, thinned

Array = NDArray[np.float64]

MARK_EVERY_M = {"metric": (1000.0, "km"), "us": (METRES_A_MILE, "mile")}
DECIMALS = 9
"""A tenth of a millimetre."""

STILL_M = 0.002
LEAST_COSINE = 0.5
"""Of half the angle: a turn of 120 degrees. The corner of a sharper one lies too far out."""


@dataclass(frozen=True)
class TrackDrawing:
    """The text of a GeoJSON drawing, its length along the middle, and what was done to the track."""

    text: str
    length_m: float
    told: tuple[str, ...]


def drawing_of(trail: Trail, tracks: Tracks, width_m: float, units: str) -> TrackDrawing:
    """The drawing of this line: its middle, the named places near it, a checkpoint every km or mile.

    It is taken point by point where that can be run, else smoothed as little as gives a course. What a
    watch recorded is read elsewhere (course/walked). Raises BadInput where nothing does.
    Check: tests/unit/course/test_track_tidy.py, tests/properties/test_tracks_roundtrip.py.
    """
    wrong: BadInput | None = None
    for line in _smoother_and_smoother(trail):
        drawing = _drawing(line, tracks, units)
        try:
            read_drawing(Drawing(drawing.text, "track", width_m=width_m))
        except BadInput as refused:
            wrong = wrong or refused
            continue
        return drawing
    assert wrong is not None
    raise BadInput([_advised(problem) for problem in wrong.problems])


def _smoother_and_smoother(trail: Trail) -> Iterator[Trail]:
    """The line point by point, with fewer points, then smoothed more and more; each says what it is."""
    length = trail.along_m[-1]
    for off in THINNED_M:
        line = thinned(trail, off) if off else trail
        words = (
            f"thinned to within {off:g} m: {length:.1f} m before, {line.along_m[-1]:.1f} m after"
        )
        yield line.told_also(words) if off else line
    for over in SMOOTHED_M:
        line = rounded(trail, over)
        words = (
            f"smoothed over {over:g} m of the way: {length:.0f} m before, {line.along_m[-1]:.0f} m"
        )
        yield line.told_also(words + " after")


def _advised(problem: Problem) -> Problem:
    advice = problem.allowed
    if "itself" in problem.found or "crosses" in problem.found:
        advice = "a course that passes over its own ground is cut to one lap with --from and --to"
    elif "width" in problem.found:
        advice = "a narrower --width, or a rounder line"
    return Problem("track", problem.found, advice)


def _drawing(line: Trail, tracks: Tracks, units: str) -> TrackDrawing:
    degrees = np.round(line.frame.to_degree(line.points_m), DECIMALS)
    rows: list[list[float]] = degrees.tolist()
    if np.isfinite(line.height_m).all():
        heights = line.height_m.tolist()
        rows = [[*row, round(height, 2)] for row, height in zip(rows, heights, strict=True)]
    features = [_feature("LineString", rows, edge="centre", kind="marked")]
    near, lost = _near_places(line, tracks)
    for name, at in near:
        features.append(_feature("Point", list(at), name=name, kind="landmark"))
    for name, at in _checkpoints(line, units):
        features.append(_feature("Point", list(at), name=name, kind="checkpoint"))
    body = ",\n".join(json.dumps(feature, ensure_ascii=False) for feature in features)
    text = '{"type": "FeatureCollection", "features": [\n' + body + "\n]}\n"
    told = line.told + ((f"{lost} named places too far from the line left out",) if lost else ())
    return TrackDrawing(text, float(line.along_m[-1]), told)


def _feature(shape: str, coordinates: Any, **words: str) -> dict[str, Any]:
    geometry = {"type": shape, "coordinates": coordinates}
    return {"type": "Feature", "properties": words, "geometry": geometry}


def _near_places(line: Trail, tracks: Tracks) -> tuple[list[tuple[str, tuple[float, float]]], int]:
    near: list[tuple[str, tuple[float, float]]] = []
    for name, at in tracks.places:
        point = line.frame.to_local_m(np.array([at]))[0]
        away = np.hypot(*(line.points_m - point).T).min()
        if away < FARTHEST_MARK_M / 2 and name not in [known for known, _ in near]:
            near.append((name, at))
    return near, len(tracks.places) - len(near)


def _checkpoints(line: Trail, units: str) -> Iterator[tuple[str, tuple[float, float]]]:
    """One at every whole km or mile, and the finish."""
    every, word = MARK_EVERY_M[units]
    along = line.along_m
    whole = [(f"{k} {word}", k * every) for k in range(1, int((along[-1] - 50) // every) + 1)]
    for name, at in [*whole, ("finish", float(along[-1]))]:
        point = [np.interp(at, along, line.points_m[:, axis]) for axis in (0, 1)]
        degree = np.round(line.frame.to_degree(np.array([point])), DECIMALS)[0]
        yield name, (float(degree[0]), float(degree[1]))


def to_gpx(strip: Strip, name: str) -> str:
    """The middle of the course as a GPX 1.1 route with its named places, for a watch or a map.

    Widths are lost: GPX has none. Raises BadInput for a course that lies nowhere on the globe.
    Check: tests/properties/test_tracks_roundtrip.py: read again, length within 0.1 %.
    """
    place = strip.place.longitude_latitude_deg
    if place is None:
        raise BadInput(Problem("course", "lies nowhere on the globe", "a course drawn in degrees"))
    frame = Frame(*place, strip.place.heading_rad)
    middle, height = _middle(strip)
    moved = np.append(True, (np.diff(np.round(middle, 4), axis=0) != 0).any(axis=1))
    marks = [
        _gpx_point("wpt", frame, np.array(strip.point_at(mark.station_m)), name=mark.name)
        for mark in strip.landmarks
    ]
    points = [
        _gpx_point("rtept", frame, point, ele=f"{metres:.2f}" if height.any() else "")
        for point, metres in zip(middle[moved], height[moved], strict=True)
    ]
    head = '<gpx version="1.1" creator="simrun" xmlns="http://www.topografix.com/GPX/1/1">'
    route = f"<rte><name>{escape(name)}</name>"
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', head, *marks, route, *points, "</rte>"]
    return "\n".join([*lines, "</gpx>", ""])


def _middle(strip: Strip) -> tuple[Array, Array]:
    """The middle of the course (P, 2) from start to finish, and its heights (P,).

    Cuts that fan about a corner of the inner edge lie on an arc as tight as the course is wide; it is
    written as the corner of the middle from which `lay_along` makes that fan again.
    """
    here = int(np.abs(strip.station_m).argmin())
    shown = slice(here, strip.finish_cut + 1)
    left, right, height = strip.left_m[shown], strip.right_m[shown], strip.height_m[shown]
    middle, keep = (left + right) / 2, np.ones(len(left), dtype=bool)
    for inner, outer in ((left, right), (right, left)):
        still = np.hypot(*np.diff(inner, axis=0).T) < STILL_M
        ends = np.flatnonzero(np.diff(np.concatenate([[0], still, [0]])))
        for first, last in zip(ends[::2], ends[1::2], strict=True):
            one, other = outer[first] - inner[first], outer[last] - inner[last]
            half = (one / np.hypot(*one) + other / np.hypot(*other)) / 2
            if np.hypot(*half) > LEAST_COSINE:
                width = (np.hypot(*one) + np.hypot(*other)) / 2
                middle[first] = inner[first] + half / (half @ half) * width / 2
                keep[first + 1 : last + 1] = False
    return middle[keep], height[keep]


def _gpx_point(tag: str, frame: Frame, point: Array, **words: str) -> str:
    longitude, latitude = frame.to_degree(point[None])[0]
    inner = "".join(f"<{key}>{escape(text)}</{key}>" for key, text in words.items() if text)
    at = f'lat="{latitude:.{DECIMALS}f}" lon="{longitude:.{DECIMALS}f}"'
    return f"<{tag} {at}>{inner}</{tag}>"
