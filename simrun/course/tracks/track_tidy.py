"""From a line as it was recorded to a line that can be run: what is dropped and smoothed is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simrun.course.drawing.drawn_checks import LONGEST_COURSE_M, check_length
from simrun.course.drawing.drawn_features import refuse
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.tracks.track_lines import Part, Tracks

Array = NDArray[np.float64]

SAME_POINT_M = 0.05
"""Points nearer than this to the one before are the same point (assumed)."""

STANDING_M = 6.0
STANDING_TIMES = 3.0
"""A line that stays within so many metres of a point while it gets longer than so many times that is
one of somebody who stands (assumed: what a watch wanders)."""

GAP_M, GAP_S = 100.0, 30.0
"""A recording that moves so far in one step that takes so long was switched off between (assumed)."""

JOIN_M = 30.0
"""Parts asked to be joined must go on so near (assumed)."""

HEIGHT_OVER_M = 50.0
"""Heights are averaged over so much of the way: a watch's height wanders by metres (assumed)."""

THINNED_M = (0.0, 0.1, 0.2, 0.5)
"""How far a drawn line may come off its own points before it is smoothed instead (assumed)."""

SMOOTHED_M = (4.0, 8.0, 12.0)
"""How far a recorded line is smoothed along the way, the least that gives a course (assumed)."""

STEP_M = 4.0
SHORTEST_M = 50.0


@dataclass(frozen=True)
class Trail:
    """A line ready to be laid out: local metres (P, 2), heights (P,) or nan, and what was done to it.

    told: one line of text for every change.
    """

    points_m: Array
    height_m: Array
    frame: Frame
    name: str = ""
    told: tuple[str, ...] = ()

    @property
    def along_m(self) -> Array:
        """Metres from the start, (P,)."""
        return along_m(self.points_m)

    def told_also(self, *words: str) -> Trail:
        """The same line with more to tell."""
        return replace(self, told=self.told + words)


def trail_of(
    tracks: Tracks, part: str = "", span_m: tuple[float, float | None] = (0, None)
) -> Trail:
    """The one line asked for, without doubled points and standing about. Raises BadInput.

    part: "" where the file holds one line only, else its number from 1, or "all" to join parts that go
    on where the one before ended. span_m: which metres of it are the course.
    Check: tests/unit/course/test_track_tidy.py.
    """
    chosen = chosen_part(tracks.parts, part)
    check_length("track", chosen.degree)
    frame = Frame(float(chosen.degree[0, 0]), float(chosen.degree[0, 1]))
    points = frame.to_local_m(chosen.degree)
    if not np.isfinite(points).all():
        refuse("track", "a point on the far side of the globe", "a line in one place")
    check_gaps(points, chosen.time_s)
    trail = Trail(points, chosen.height_m, frame, chosen.name)
    trail = _without_standing(_without_doubles(trail))
    return _cut_out(_with_smooth_heights(trail), span_m)


def chosen_part(parts: tuple[Part, ...], part: str) -> Part:
    """The one line asked for, "" where the file holds one only, or "all" joined. Raises BadInput."""
    if part == "all":
        return _joined(parts)
    if not part and len(parts) == 1:
        return parts[0]
    listed = ", ".join(f"{i}: {_part_words(p)}" for i, p in enumerate(parts[:6], start=1))
    listed += ", ..." if len(parts) > 6 else ""
    allowed = f"say which with --part, or --part all where they follow one another ({listed})"
    if not part:
        refuse("file", f"{len(parts)} lines, which are never joined unasked", allowed)
    if not part.isdecimal() or not 1 <= int(part[:6]) <= len(parts):
        refuse("--part", repr(part[:20]), allowed)
    return parts[int(part) - 1]


def _part_words(part: Part) -> str:
    frame = Frame(float(part.degree[0, 0]), float(part.degree[0, 1]))
    length = along_m(frame.to_local_m(part.degree))[-1]
    name = f"{part.name!r} " if part.name else ""
    return f"{name}{length:.0f} m" if np.isfinite(length) else f"{name}endless"


def _joined(parts: tuple[Part, ...]) -> Part:
    for number, (one, other) in enumerate(pairwise(parts), start=2):
        frame = Frame(float(one.degree[-1, 0]), float(one.degree[-1, 1]))
        gap = float(np.hypot(*frame.to_local_m(other.degree[:1])[0]))
        if not gap <= JOIN_M:
            found = f"begins {gap:.0f} m from where the part before it ends"
            refuse(
                f"part {number}", found, f"at most {JOIN_M:.0f} m, or one part alone with --part"
            )
    columns = [[getattr(p, name) for p in parts] for name in ("degree", "height_m", "time_s")]
    return Part(parts[0].name, *(np.concatenate(column) for column in columns))


def check_gaps(points: Array, time_s: Array) -> None:
    """Refuse a recording that was switched off while somebody moved on."""
    if not np.isfinite(time_s).all():
        return
    step, wait = np.hypot(*np.diff(points, axis=0).T), np.diff(time_s)
    if (wait < 0).any():
        at = along_m(points)[int((wait < 0).argmax())]
        refuse(
            "track", f"its times run backwards at {at:.0f} m", "points in the order of their times"
        )
    gaps = np.flatnonzero((step > GAP_M) & (wait > GAP_S))
    if len(gaps):
        at, k = along_m(points)[gaps[0]], gaps[0]
        found = f"nothing was recorded for {wait[k]:.0f} s and {step[k]:.0f} m, from {at:.0f} m on"
        refuse("track", found, "one stretch without a gap: cut it out with --from and --to")


def _kept(trail: Trail, keep: NDArray[np.bool_]) -> Trail:
    return replace(trail, points_m=trail.points_m[keep], height_m=trail.height_m[keep])


def _without_doubles(trail: Trail) -> Trail:
    step = np.hypot(*np.diff(trail.points_m, axis=0).T)
    keep = np.append(True, step >= SAME_POINT_M)
    if keep.sum() < 2:
        refuse("track", "all points are the same", "a line that goes somewhere")
    lost = int((~keep).sum())
    short = _kept(trail, keep)
    return short.told_also(f"{lost} doubled points dropped") if lost else short


def _without_standing(trail: Trail) -> Trail:
    """Drop what a watch writes while its owner stands: much way, and never out of one small circle."""
    keep = np.ones(len(trail.points_m), dtype=bool)
    along, at, places = trail.along_m, 0, 0
    while at < len(keep) - 1:
        last = _stays_until(trail.points_m, at)
        if along[last] - along[at] > STANDING_TIMES * STANDING_M:
            keep[at + 1 : last + 1] = False
            places += 1
            at = last + 1
        else:
            at += 1
    if keep.sum() < 2:
        refuse("track", "stays in one place", "a line that goes somewhere")
    lost = int((~keep).sum())
    words = f"{lost} points dropped where the track stands about ({places} places)"
    return _kept(trail, keep).told_also(words) if places else trail


def _stays_until(points: Array, at: int) -> int:
    """The last point before the line first leaves the circle about point `at`."""
    block = 64
    for first in range(at + 1, len(points), block):
        away = np.hypot(*(points[first : first + block] - points[at]).T) > STANDING_M
        if away.any():
            return first + int(away.argmax()) - 1
    return len(points) - 1


def _with_smooth_heights(trail: Trail) -> Trail:
    known = np.isfinite(trail.height_m)
    if not known.all() and known.mean() < 0.9:
        words = "heights: none in the file" if not known.any() else "heights: too many are missing"
        nothing = np.full(len(known), np.nan)
        return replace(trail, height_m=nothing).told_also(words + ", the course is flat")
    along = trail.along_m
    height = smoothed(along, np.interp(along, along[known], trail.height_m[known]), HEIGHT_OVER_M)
    climb = float(np.clip(np.diff(height), 0, None).sum())
    words = f"heights: averaged over {HEIGHT_OVER_M:.0f} m of the way, {climb:.0f} m of climb left"
    return replace(trail, height_m=height).told_also(words)


def smoothed(along: Array, values: Array, over_m: float) -> Array:
    """The mean of a broken line (P,) over `over_m` about each point, less near the ends.

    Formula: the integral of the broken line over the span, by its length; so the spacing of the points
    does not matter, and a straight slope stays as it is.
    """
    reach = np.minimum(over_m / 2, np.minimum(along - along[0], along[-1] - along))
    fine = np.unique(np.concatenate([along, along - reach, along + reach]))
    line = np.interp(fine, along, values)
    area = np.append(0.0, np.cumsum(np.diff(fine) * (line[1:] + line[:-1]) / 2))
    total = np.interp(along + reach, fine, area) - np.interp(along - reach, fine, area)
    return np.where(reach > 1e-6, total / np.maximum(2 * reach, 1e-6), values)


def _cut_out(trail: Trail, span_m: tuple[float, float | None]) -> Trail:
    along = trail.along_m
    low, high = span_m[0], along[-1] if span_m[1] is None else min(span_m[1], along[-1])
    if not 0 <= low < high - SHORTEST_M:
        found = f"{max(high - low, 0.0):.0f} m of {along[-1]:.0f} m"
        refuse("track", found, f"a course of at least {SHORTEST_M:.0f} m")
    if high - low > LONGEST_COURSE_M:
        refuse(
            "track", f"{(high - low) / 1000:.0f} km", f"at most {LONGEST_COURSE_M / 1000:.0f} km"
        )
    inner = along[(along > low + SAME_POINT_M) & (along < high - SAME_POINT_M)]
    return at_stations(trail, np.concatenate([[low], inner, [high]]))


def at_stations(trail: Trail, stations: Array) -> Trail:
    """The same line with its points at these metres of the way."""
    along = trail.along_m
    columns = (trail.points_m[:, 0], trail.points_m[:, 1], trail.height_m)
    x, y, height = (np.interp(stations, along, column) for column in columns)
    return replace(trail, points_m=np.stack([x, y], axis=1), height_m=height)


def rounded(trail: Trail, over_m: float) -> Trail:
    """The line smoothed along the way by a bell of this width, points STEP_M apart; ends stay put."""
    from scipy.ndimage import gaussian_filter1d

    along = trail.along_m
    count = max(2, round(along[-1] / STEP_M)) + 1
    even = at_stations(trail, np.linspace(0.0, along[-1], count))
    reach = over_m / (along[-1] / (count - 1))
    # Mirrored through the end points, so that the line neither shrinks nor turns there.
    pad = min(count - 1, int(np.ceil(4 * reach)))
    points = even.points_m
    before, after = 2 * points[0] - points[pad:0:-1], 2 * points[-1] - points[-2 : -pad - 2 : -1]
    long = gaussian_filter1d(np.vstack([before, points, after]), reach, axis=0, mode="nearest")
    return replace(even, points_m=long[pad : pad + count])


def thinned(trail: Trail, off_m: float) -> Trail:
    """The line through as few of its points as keep it within `off_m` of all of them."""
    from shapely import LineString

    line = np.asarray(LineString(trail.points_m).simplify(off_m).coords)
    kept, at = np.zeros(len(trail.points_m), dtype=bool), 0
    for point in line:
        at += int((trail.points_m[at:] == point).all(axis=1).argmax())
        kept[at] = True
    return _kept(trail, kept)


def along_m(points: Array) -> Array:
    """Metres along a broken line, (P,)."""
    return np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
