"""Is what a file holds one whole race? A stranger's numbers are looked at before anybody counts on them."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.runners.roster import ENDS, Roster
from simrun.state.recording import Recording
from simrun.state.tracks import WAYS, Tracks

TEXTS = ("name", "team_names")
BY_MARK = (
    *("crossing_s", "reserve_m", "alone_reserve_m"),
    *("alone_s", "raced_s", "shortest_s", "best_s"),
)
STAGES = ("sit_m", "move_m", "kick_m")
"""Infinite where a plan has no such stage; every other number of a roster is finite."""

BY_GATE = ("choice", "inside_m", *ENDS)
COUNTED = ("team_index", "box", "row", "file")
LONGEST_S = 86_400.0
LARGEST = 1e9
"""No number of a race is near it, and sums and differences of numbers up to it are finite."""

WIDEST_RADIUS_M = 1.0


def fitting(recording: Recording) -> Recording:
    """The same recording; raises ValueError where its parts are not of one race.

    Check: tests/unit/state/test_recording_file.py, tests/properties/test_recordings_fuzz.py.
    """
    if not (_kinds_fit(recording) and _sizes_fit(recording)):
        raise ValueError("parts of different kinds or sizes")
    if not (_names_fit(recording.roster) and _places_fit(recording) and _numbers_fit(recording)):
        raise ValueError("values that no race has")
    return recording


def roster_arrays() -> list[str]:
    """The columns of a roster that are arrays."""
    return [field.name for field in fields(Roster) if field.name not in TEXTS]


def _parts(recording: Recording) -> dict[str, NDArray[Any]]:
    """Every array that is kept in full, by name."""
    parts = {f"roster {name}": getattr(recording.roster, name) for name in roster_arrays()}
    names = (*BY_MARK, "times_s", "stood_s", "stood_m")
    return parts | {name: getattr(recording, name) for name in names}


def _kinds_fit(recording: Recording) -> bool:
    """Whole numbers, words and numbers each where they belong: no dates, no complex numbers."""
    kinds = dict.fromkeys(COUNTED, "i") | {"choice": "U"}
    return all(
        part.dtype.kind == kinds.get(name.rpartition(" ")[2], "f")
        for name, part in _parts(recording).items()
    )


def _sizes_fit(recording: Recording) -> bool:
    roster, strip = recording.roster, recording.strip
    count, marks, frames = len(roster), len(strip.checkpoints), len(recording.times_s)
    fits = count > 0 and recording.times_s.ndim == 1
    for name in roster_arrays():
        part = getattr(roster, name)
        columns = 2 if name in (*BY_GATE, "wander", "keeps") else 1
        fits &= part.ndim == columns and len(part) == count
    for name in BY_GATE:
        fits &= getattr(roster, name).shape == (count, len(strip.gates))
    fits &= roster.keeps.shape[1:] in ((0,), (marks,))
    for name in BY_MARK:
        fits &= getattr(recording, name).shape == (count, marks)
    fits &= recording.stood_s.shape == recording.stood_m.shape == (count,)
    fits &= recording.position_m.shape == (frames, count, 2)
    for part in (recording.speed_cm_s, recording.wished_cm_s):
        fits &= part.shape == (frames, count) and part.dtype == np.int16
    return fits and _tracks_fit(recording.tracks, count)


def _tracks_fit(tracks: Tracks, count: int) -> bool:
    """Three ways of so many runners, places in order, moments that a race has."""
    ways = (len(WAYS), count)
    fits = tracks.at_m.ndim == 1 and tracks.reached_ms.shape == (*ways, len(tracks))
    fits &= tracks.start_m.shape == tracks.leaves_s.shape == ways
    for part in (tracks.at_m, tracks.start_m, tracks.leaves_s):
        fits &= part.dtype == np.float64 and bool((np.abs(part) <= LARGEST).all())
    if not fits:
        return False
    in_time = tracks.reached_ms.max(initial=0) <= 1000 * LONGEST_S
    return bool(in_time and (np.diff(tracks.at_m) >= 0).all())


def _names_fit(roster: Roster) -> bool:
    """Text on one line that every file and page can hold."""
    return all(isinstance(n, str) and n.isprintable() for n in (*roster.name, *roster.team_names))


def _places_fit(recording: Recording) -> bool:
    """Everybody belongs to a team that there is and stands in a box that there is."""
    roster, boxes = recording.roster, recording.scenario.start.boxes
    ends = [(roster.team_index, 0, len(roster.team_names) - 1), (roster.box, 1, boxes)]
    ends += [(np.array(recording.best_box), 1, boxes)]
    return all(bool(((part >= low) & (part <= high)).all()) for part, low, high in ends)


def _numbers_fit(recording: Recording) -> bool:
    """Nothing infinite or absurd, no body without width, a clock that only goes forward."""
    endless = [f"roster {name}" for name in STAGES]
    parts = {n: p for n, p in _parts(recording).items() if n not in endless}
    numbers = [part for part in parts.values() if part.dtype.kind == "f"]
    fits = not any((np.abs(part) > LARGEST).any() for part in numbers)
    people = [getattr(recording.roster, name) for name in roster_arrays() if name != "choice"]
    fits &= not any(np.isnan(part).any() for part in people)
    radius, times = recording.roster.radius_m, recording.times_s
    fits &= bool(((radius > 0) & (radius < WIDEST_RADIUS_M)).all())
    fits &= bool(((times >= 0) & (times <= LONGEST_S)).all() and (np.diff(times) > 0).all())
    return fits and bool(np.isfinite(recording.peak_overlap))
