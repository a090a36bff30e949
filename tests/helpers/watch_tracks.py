"""Invented courses, and what a watch writes of them: a track a second with an error that wanders.

A course is drawn as people draw them: legs of a polygon, its corners rounded off. What is true of it
(metres, turns, laps, climb) is kept beside the track.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.drawing.drawn_frame import Frame

Array = NDArray[np.float64]

STEP_M = 0.5
LEAST_LEG_M = 45.0
LEAST_TURN_DEG, MOST_TURN_DEG = 42.0, 135.0
"""The corners of the polygon. Nobody can tell a bend of 29 degrees from one of 31 through five metres of
error, so none of them is near the 30 degrees that make a turn; the bows of the legs are below 20."""


@dataclass(frozen=True)
class Walk:
    """A course and one recording of it.

    path_m (K, 2): the middle, every half metre. turns: their signed degrees in the order of the race.
    laps: how often the loop is run. climb_m: metres up. line_m: the width of the start line. error_m:
    root mean square distance of the watch from the truth. gpx: the file.
    """

    seed: int
    path_m: Array
    turns: tuple[float, ...]
    laps: int
    hairpin: bool
    climb_m: float
    line_m: float
    error_m: float
    wander_s: float
    gpx: str

    @property
    def length_m(self) -> float:
        """The metres of the middle."""
        return float(np.hypot(*np.diff(self.path_m, axis=0).T).sum())


def walk_of(seed: int) -> Walk:
    """The course and the track of this seed: every second one of two laps, every third with a hairpin."""
    rng = np.random.default_rng([20, seed])
    laps, hairpin = 1 + seed % 2, seed % 3 == 0
    path, turns = _course(rng, laps, hairpin)
    line_m, error_m, wander_s = rng.uniform(40, 110), rng.uniform(1, 5), rng.uniform(10, 60)
    height = _heights(rng, path, laps)
    gpx = _recorded(rng, path, height, (line_m, error_m, wander_s))
    climb = float(np.clip(np.diff(height), 0, None).sum())
    return Walk(seed, path, turns, laps, hairpin, climb, line_m, error_m, wander_s, gpx)


def recorded_along(way_m: Array, seed: int) -> str:
    """GPX of a watch that somebody wore along this way (K, 2), with 2 m of error that wanders in 30 s."""
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(way_m, axis=0).T)))
    every = np.arange(0.0, along[-1], STEP_M)
    path = np.stack([np.interp(every, along, column) for column in way_m.T], axis=1)
    rng = np.random.default_rng([21, seed])
    return _recorded(rng, path, np.zeros(len(path)), (36.0, 2.0, 30.0))


def _course(rng: np.random.Generator, laps: int, hairpin: bool) -> tuple[Array, tuple[float, ...]]:
    for _ in range(20000):
        corners, radius = _loop(rng, hairpin)
        bend = _bends_deg(corners, closed=True)
        sharp = np.abs(bend) > 25
        ends = [k for k in range(len(corners)) if sharp[k] and bend[k] > 0]
        if len(ends) < 2 or not _is_runnable(corners, radius, bend):
            continue
        first, last = rng.choice(ends, 2, replace=False)
        route = _route(rng, corners, (int(first), int(last)), laps)
        radii = np.append(np.append(0.0, radius[route[1]]), 0.0)
        if not _keeps_apart(route[0], corners):
            continue
        path = _rounded(route[0], radii)
        total = np.hypot(*np.diff(path, axis=0).T).sum()
        if not 2500 <= total <= 7000:
            continue
        return path, _counted(route[0])
    raise AssertionError("no course found")


def _counted(route: Array) -> tuple[float, ...]:
    """Every bend above 30 degrees; the two corners of a hairpin, 20 m apart at most, are one turn."""
    bends, leg = _bends_deg(route, closed=False), np.hypot(*np.diff(route, axis=0).T)
    found: list[float] = []
    for k, bend in enumerate(bends):
        if k and leg[k] < 20.5 and np.sign(bend) == np.sign(bends[k - 1]):
            found[-1] += float(bend)
        elif abs(bend) > 30:
            found.append(float(bend))
    return tuple(found)


def _loop(rng: np.random.Generator, hairpin: bool) -> tuple[Array, Array]:
    """The corners of a lap, anticlockwise, and the radius of each: sharp ones, and bows of its legs."""
    count = int(rng.integers(6, 12))
    angle = np.sort((np.arange(count) + rng.uniform(-0.4, 0.4, count)) * 2 * np.pi / count)
    out = rng.uniform(0.4, 1.0, count)
    corners = out[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    corners *= rng.uniform(1200, 2800) / _perimeter(corners)
    rows: list[tuple[Array, float]] = []
    legs = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    out_at = int(legs.argmax()) if hairpin else -1
    for k in range(count):
        here, there = corners[k], corners[(k + 1) % count]
        rows.append((here, rng.uniform(6, 20)))
        along = (there - here) / legs[k]
        aside = np.array([along[1], -along[0]])
        if k == out_at:
            half, reach = rng.uniform(5, 10), rng.uniform(80, 160)
            begin = here + along * legs[k] * 0.5
            rows.append((begin - along * half, 8.0))
            # The two corners of a hairpin touch: rounded off with its half width they are one arc.
            rows.append((begin - along * half + aside * reach, half))
            rows.append((begin + along * half + aside * reach, half))
            rows.append((begin + along * half, 8.0))
        elif legs[k] > 260 and rng.random() < 0.4:
            tilt = np.tan(np.deg2rad(rng.uniform(5, 10))) * rng.choice([-1, 1])
            rows.append(((here + there) / 2 + aside * tilt * legs[k] / 2, rng.uniform(120, 250)))
    return np.array([row[0] for row in rows]), np.array([row[1] for row in rows])


def _perimeter(corners: Array) -> float:
    return float(np.hypot(*(np.roll(corners, -1, axis=0) - corners).T).sum())


def _bends_deg(corners: Array, closed: bool) -> Array:
    points = np.vstack([corners[-1:], corners, corners[:1]]) if closed else corners
    way = np.diff(points, axis=0)
    heading = np.arctan2(way[:, 1], way[:, 0])
    return np.rad2deg((np.diff(heading) + np.pi) % (2 * np.pi) - np.pi)


def _is_runnable(corners: Array, radius: Array, bend: Array) -> bool:
    """Do turns lie well apart, and is none of them near 30 degrees or a turn on the spot?"""
    turn = np.abs(bend)
    pair = _hairpin_corners(corners, radius, bend)
    plain = (turn > 25) & ~pair
    if ((turn[plain] < LEAST_TURN_DEG) | (turn[plain] > MOST_TURN_DEG)).any():
        return False
    cut = radius * np.tan(np.deg2rad(turn / 2))
    leg = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    left = leg - cut - np.roll(cut, -1)
    within = pair & np.roll(pair, -1)
    return bool((left[~within] > LEAST_LEG_M).all() and _clears(corners))


def _hairpin_corners(corners: Array, radius: Array, bend: Array) -> NDArray[np.bool_]:
    """Which corners are one half of a hairpin?"""
    leg = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    first = np.isclose(leg, 2 * radius) & np.isclose(np.abs(bend), 90)
    return first | np.roll(first, 1)


def _clears(corners: Array) -> bool:
    from shapely import Polygon

    return bool(Polygon(corners).is_valid)


def _route(
    rng: np.random.Generator, corners: Array, ends: tuple[int, int], laps: int
) -> tuple[Array, NDArray[np.int64]]:
    """Straight on to the corner `first`, from there around, and straight on at the corner `last`.

    Of two laps the second is whole in every other course and a piece of the third is run, else it is left
    before its end.
    """
    first, last = ends
    count = len(corners)
    over = int(rng.integers(0, 2)) if laps > 1 else 0
    ahead = corners[(first + 1) % count] - corners[first]
    start = corners[first] - ahead / np.hypot(*ahead) * rng.uniform(120, 300)
    numbers = np.arange(first + 1, first + count * (laps + over) + 1)
    begin = numbers[numbers % count == last]
    upto = begin[-1]
    numbers = numbers[numbers < upto] % count
    before = corners[(last - 1) % count]
    behind = corners[last] - before
    finish = corners[last] + behind / np.hypot(*behind) * rng.uniform(80, 200)
    return np.vstack([start, corners[numbers], finish]), numbers


def _keeps_apart(route: Array, corners: Array) -> bool:
    """The start and the finish straight do not cross the lap or one another."""
    from shapely import LineString, Polygon

    ground = Polygon(corners).buffer(25)
    out = [LineString(route[:2]).difference(ground), LineString(route[-2:]).difference(ground)]
    ring = Polygon(corners).exterior
    crosses = sum(
        len(np.atleast_1d(getattr(LineString(ends).intersection(ring), "geoms", [0])))
        for ends in (route[:2], route[-2:])
    )
    return bool(out[0].distance(out[1]) > 30 and not out[0].is_empty and crosses <= 4)


def track_along(corners: Array, how: tuple[float, float], radius_m: float = 10.0) -> str:
    """The GPX of somebody who runs these corners (P, 2) at 4 m/s. how: the watch's error and over how
    many seconds it wanders."""
    path = rounded_path(corners, radius_m)[::8]
    rng = np.random.default_rng(3)
    error = [wandering(rng, len(path), how[0] / np.sqrt(2), how[1]) for _ in (0, 1)]
    height = wandering(rng, len(path), 1.0, 30.0) + 20.0
    return gpx_of(path + np.stack(error, axis=1), height, np.ones(len(path), dtype=bool), -35.0)


def rounded_path(corners: Array, radius_m: float) -> Array:
    """The legs between these corners (P, 2), every corner rounded off, a point every half metre."""
    return _rounded(corners, np.full(len(corners), radius_m))


def _rounded(corners: Array, radius: Array) -> Array:
    """The legs and the arcs that touch them, a point every half metre."""
    rows = [corners[:1]]
    for k in range(1, len(corners) - 1):
        rows.append(_arc(corners[k - 1 : k + 2], float(radius[k])))
    path = np.vstack([*rows, corners[-1:]])
    step = np.hypot(*np.diff(path, axis=0).T)
    path = path[np.append(True, step > 1e-9)]
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(path, axis=0).T)))
    even = np.linspace(0.0, along[-1], int(along[-1] / STEP_M) + 1)
    return np.stack([np.interp(even, along, path[:, axis]) for axis in (0, 1)], axis=1)


def _arc(three: Array, radius: float) -> Array:
    before, corner, after = three
    inward, outward = corner - before, after - corner
    inward, outward = inward / np.hypot(*inward), outward / np.hypot(*outward)
    turn = np.arctan2(inward[0] * outward[1] - inward[1] * outward[0], inward @ outward)
    if abs(turn) < 1e-6:
        return corner[None]
    side = np.sign(turn)
    touch = corner - inward * radius * np.tan(abs(turn) / 2)
    centre = touch + side * radius * np.array([-inward[1], inward[0]])
    angle = np.linspace(0, turn, max(3, int(abs(turn) * radius / 0.25)))
    cosine, sine = np.cos(angle), np.sin(angle)
    spoke = touch - centre
    return centre + np.stack(
        [cosine * spoke[0] - sine * spoke[1], sine * spoke[0] + cosine * spoke[1]], axis=1
    )


def _heights(rng: np.random.Generator, path: Array, laps: int) -> Array:
    """A hill or two of the land itself, so that a lap comes back to its height."""
    height = np.zeros(len(path))
    middle = path.mean(axis=0)
    for _ in range(int(rng.integers(1, 3))):
        top = middle + rng.uniform(-250, 250, 2)
        wide = rng.uniform(120, 250)
        height += rng.uniform(3, 15) * np.exp(-((path - top) ** 2).sum(axis=1) / wide**2)
    return height


def wandering(rng: np.random.Generator, count: int, error: float, over_s: float) -> Array:
    """An error (count,) that wanders (Ornstein-Uhlenbeck), a value a second."""
    keep = np.exp(-1.0 / over_s)
    noise = rng.normal(0.0, error, count)
    noise[1:] *= np.sqrt(1 - keep**2)
    for k in range(1, count):
        noise[k] += keep * noise[k - 1]
    return noise


def _recorded(
    rng: np.random.Generator, path: Array, height: Array, how: tuple[float, float, float]
) -> str:
    """What the watch of somebody writes who stands, runs from a box, stops, goes on, and stands."""
    line_m, error_m, wander_s = how
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(path, axis=0).T)))
    pace = rng.uniform(3.2, 4.8)
    speed = np.clip(pace * (1 + wandering(rng, 20000, 0.08, 60.0)), 2.0, 7.0)
    speed[: int(rng.integers(0, 40))] = 0.0
    for _ in range(int(rng.integers(0, 3))):
        begin = int(rng.integers(150, int(along[-1] / pace)))
        speed[begin : begin + int(rng.integers(15, 60))] = 0.0
    at = np.append(0.0, np.cumsum(speed))
    arrived = int((at >= along[-1]).argmax())
    at = np.minimum(at[: arrived + 1 + int(rng.integers(0, 40))], along[-1])
    point = np.stack([np.interp(at, along, path[:, axis]) for axis in (0, 1)], axis=1)
    ahead = (path[20] - path[0]) / np.hypot(*(path[20] - path[0]))
    # Somebody's box lies beside the middle; the middle is reached before the first turn.
    beside = rng.uniform(-0.35, 0.35) * line_m
    point += np.clip(1 - at / 110.0, 0, 1)[:, None] * beside * np.array([-ahead[1], ahead[0]])
    for axis in (0, 1):
        point[:, axis] += wandering(rng, len(at), error_m / np.sqrt(2), wander_s)
    metres = np.interp(at, along, height) + wandering(rng, len(at), rng.uniform(0.5, 2), 40.0)
    keep = np.ones(len(at), dtype=bool)
    for _ in range(int(rng.integers(0, 4))):
        begin = int(rng.integers(60, len(at) - 60))
        keep[begin : begin + int(rng.integers(5, 25))] = False
    turned = rng.uniform(0, 2 * np.pi)
    spun = point @ np.array([[np.cos(turned), np.sin(turned)], [-np.sin(turned), np.cos(turned)]])
    return gpx_of(spun, metres + 40.0, keep, rng.uniform(-60, 60))


def gpx_of(point_m: Array, height_m: Array, keep: NDArray[np.bool_], latitude: float) -> str:
    """A GPX 1.1 track of these points, one a second, those left out that are not kept."""
    degree = Frame(-20.5, latitude).to_degree(point_m)
    rows = []
    for second in np.flatnonzero(keep):
        hour, minute, rest = 9 + second // 3600, second // 60 % 60, second % 60
        rows.append(
            f'<trkpt lat="{degree[second, 1]:.7f}" lon="{degree[second, 0]:.7f}">'
            f"<ele>{height_m[second]:.1f}</ele>"
            f"<time>2031-09-06T{hour:02d}:{minute:02d}:{rest:02d}Z</time></trkpt>"
        )
    head = '<?xml version="1.0"?>\n<gpx version="1.1" creator="a watch"'
    head += ' xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n'
    return head + "\n".join(rows) + "\n</trkseg></trk></gpx>\n"
