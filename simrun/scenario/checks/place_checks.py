"""Do the places that the coach speaks of lie on this course, each told once?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from simrun.base.errors import Problem, nearest_word
from simrun.course.strip import Strip
from simrun.scenario.tables.schema_places import PlaceTable
from simrun.scenario.tables.values import shown

GUN, FINISH = "gun", "finish"
MOST_NAMED = 12
"""A message names so many places."""

SAME_M = 1.0
"""Two places nearer than this are one."""


def named_stations(strip: Strip) -> dict[str, float]:
    """Where is every named place? Metres along the measured line: gun, landmarks, turns and narrowings,
    checkpoints, pieces, finish; on later laps as name@lap. What has two meanings is the first of these.

    Check: tests/unit/scenario/test_places.py.
    """
    found: dict[str, float] = {GUN: 0.0, FINISH: strip.length_m}
    for mark in strip.landmarks:
        found.setdefault(mark.place or mark.name, mark.station_m)
        found.setdefault(mark.name, mark.station_m)
    for gate in strip.gates:
        at_m = float(strip.station_m[gate.first_cut])
        found.setdefault(gate.name, at_m)
        found.setdefault(f"{gate.name}@{gate.lap}", at_m)
    for mark in strip.checkpoints:
        found.setdefault(mark.name, mark.station_m)
    for index, name in enumerate(strip.section_names):
        cells = np.flatnonzero(strip.section == index)
        if name and len(cells):
            found.setdefault(name, max(0.0, float(strip.station_m[cells[0]])))
    return found


def station_of(place: PlaceTable, strip: Strip) -> float:
    """Where along the measured line is this place?"""
    return place.at if isinstance(place.at, float) else named_stations(strip)[place.at]


def place_problems(places: Sequence[PlaceTable], strip: Strip) -> Iterator[Problem]:
    """Every place must be on the course, and stand in the list once."""
    known = named_stations(strip)
    told: list[float] = []
    for number, place in enumerate(places, start=1):
        key = f"places.{number}"
        if isinstance(place.at, str) and place.at not in known:
            names = [name for name in known if "@" not in name]
            more = ", ..." if len(names) > MOST_NAMED else ""
            allowed = f"a place of the course: {', '.join(names[:MOST_NAMED])}{more}; or metres"
            near = nearest_word(place.at, known)
            yield Problem(f"{key}.at", shown(place.at), allowed, near)
            continue
        at_m = station_of(place, strip)
        if at_m > strip.length_m:
            allowed = f"at most {strip.length_m:.1f} m, the length of the course"
            yield Problem(f"{key}.at", f"{at_m:g} m", allowed)
        if any(abs(at_m - other) < SAME_M for other in told):
            yield Problem(f"{key}.at", "told twice", "every place once")
        told.append(at_m)
        yield from _clip_problems(key, place)


def _clip_problems(key: str, place: PlaceTable) -> Iterator[Problem]:
    begin, end = place.clip_from_s, place.clip_to_s
    if place.clip is None and (begin is not None or end is not None):
        yield Problem(f"{key}.clip", "missing", "a clip for its clip_from and clip_to")
    if end is not None and end <= (begin or 0.0):
        yield Problem(f"{key}.clip_to", f"{end:g} s", f"later than clip_from, {begin or 0.0:g} s")
