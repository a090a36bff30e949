"""Which places is the team walked through? The sheet's marks, and the places that the coach speaks of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from simrun.answers.sheet.result import SheetResult
from simrun.answers.sheet.sheet_marks import AT_M, CHECKPOINT, SheetMark
from simrun.answers.sheet.sheet_races import SheetRaces
from simrun.answers.sheet.sheet_records import Band, Stretch, Told
from simrun.answers.sheet.sheet_rows import band_of, stretch_of, told_at
from simrun.course.strip import Gate, Strip
from simrun.measure.squad.what_is_ahead import Ahead, what_is_ahead
from simrun.scenario.checks.place_checks import station_of
from simrun.scenario.tables.schema_places import PlaceTable

LAP = ", lap "
"""Between a place's name and its lap, from the second on."""

OWN_WITHIN_M = 60.0
"""A mark that bears the name of a turn stands at it, or so near before or behind it."""

FINISH_M = 60.0
"""The last chapter is so much of the way before the finish."""


@dataclass(frozen=True)
class Chapter:
    """One place and the way to the next. told: what the sheet tells there; stretch: who is near whom on it.

    from_m, to_m: the ground that is shown; focus_m: what it is about, the first turn or narrowing on it.
    first_s, last_s: when the first and the last of the field are here; None at the gun. turn: what the sheet
    tells, at a mark before, of the turn that bears this place's name; None without one.
    """

    told: Told
    place: PlaceTable | None
    from_m: float
    to_m: float
    focus_m: float
    ahead: Ahead
    stretch: Stretch | None
    first_s: Band | None
    last_s: Band | None
    turn: Told | None = None

    @property
    def mark(self) -> SheetMark:
        """Where it is."""
        return self.told.mark


def chapters_of(sheet: SheetResult, places: Sequence[PlaceTable]) -> tuple[Chapter, ...]:
    """Every mark of the sheet as the sheet tells it, and every place of the coach that is none of them.

    Check: tests/journeys/test_preview.py.
    """
    day, index = sheet.day, _index(sheet)
    told = {mark.mark.at_m: mark for mark in sheet.found.marks}
    said: dict[float, PlaceTable] = {}
    for place in places:
        at_m = _mark_of(place, day.strip, list(told.values()))
        if at_m is None:
            at_m = station_of(place, day.strip)
            name = place.name or (place.at if isinstance(place.at, str) else f"{at_m:.0f} m")
            mark = SheetMark(name.replace("@", LAP), at_m, CHECKPOINT)
            # The ground from the mark of the sheet before it on: what is said there holds here too.
            before = max((each for each in sheet.found.marks if each.mark.at_m < at_m), key=_at_m)
            told[at_m] = replace(told_at(mark, index, sheet.raced), passing=before.passing)
        said[at_m] = place
    ordered = [told[at_m] for at_m in sorted(told)]
    return tuple(
        _chapter(sheet, each, said.get(each.mark.at_m), after)
        for each, after in zip(ordered, [*ordered[1:], None], strict=True)
    )


def _at_m(told: Told) -> float:
    return told.mark.at_m


def _mark_of(place: PlaceTable, strip: Strip, told: Sequence[Told]) -> float | None:
    """At which mark of the sheet is this place? By its name, else by where it is; None: at none."""
    for each in told:
        if each.mark.name == place.at and each.mark.off_m == 0:
            return each.mark.at_m
    at_m = station_of(place, strip)
    near = min(told, key=lambda each: abs(each.mark.at_m - at_m)).mark.at_m
    return near if abs(near - at_m) <= AT_M else None


def _chapter(
    sheet: SheetResult, told: Told, place: PlaceTable | None, after: Told | None
) -> Chapter:
    """One place with the way to the next; after: what is told there, None at the finish."""
    strip, at_m = sheet.day.strip, told.mark.at_m
    end_m = after.mark.at_m if after else strip.length_m
    own = own_gate(strip, told.mark)
    from_m = at_m if after else max(0.0, strip.length_m - FINISH_M)
    if own is not None:
        from_m = min(from_m, float(strip.station_m[own.first_cut]))
    first_s, last_s = _field(sheet.raced, at_m) if at_m > 0 else (None, None)
    ends = (told.mark, after.mark) if after and at_m > 0 else None
    return Chapter(
        told,
        place,
        from_m,
        end_m,
        _middle(strip, own) if own is not None else _focus(strip, at_m, end_m),
        what_is_ahead(strip, from_m, end_m),
        stretch_of(sheet.day, _index(sheet), ends, sheet.raced) if ends else None,
        first_s,
        last_s,
        _turn_before(sheet, told.mark, own) if own is not None else None,
    )


def _index(sheet: SheetResult) -> int:
    """Which team of the day is it?"""
    return [team.name for team in sheet.day.teams].index(sheet.found.stand.team)


def _turn_before(sheet: SheetResult, mark: SheetMark, own: Gate) -> Told | None:
    """The last mark of the sheet before this one, if it tells this turn's line: with that line alone."""
    before = [told for told in sheet.found.marks if told.mark.at_m < mark.at_m]
    lines = tuple(line for line in before[-1].lines if line[0] == own.name) if before else ()
    return replace(before[-1], lines=lines) if lines else None


def own_gate(strip: Strip, mark: SheetMark) -> Gate | None:
    """The turn or narrowing that bears the mark's name, where the mark stands at it or a little behind."""
    near = [
        gate
        for gate in strip.gates
        if gate.name == mark.name.partition(LAP)[0]
        and mark.off_m == 0
        and abs(strip.station_m[gate.first_cut] - mark.at_m) <= OWN_WITHIN_M
    ]
    return near[0] if near else None


def _middle(strip: Strip, gate: Gate) -> float:
    """The middle of a turn, the beginning of a narrowing."""
    first, last = (float(strip.station_m[cut]) for cut in (gate.first_cut, gate.last_cut))
    return (first + last) / 2 if gate.kind == "turn" else first


def _focus(strip: Strip, at_m: float, to_m: float) -> float:
    """The middle of the first turn, or the beginning of the first narrowing, up to the next place."""
    for gate in strip.gates:
        if at_m - AT_M <= strip.station_m[gate.first_cut] < to_m - AT_M:
            return _middle(strip, gate)
    return at_m


def _field(raced: SheetRaces, at_m: float) -> tuple[Band, Band]:
    """When are the first and the last of the field here?"""
    times = raced.everybody_s(at_m)
    first, last = (np.array([end(each) for each in times]) for end in (np.nanmin, np.nanmax))
    return band_of(first, raced.points), band_of(last, raced.points)


def each_again(chapters: Sequence[Chapter]) -> Iterator[tuple[Chapter, ...]]:
    """The same place on every lap, first lap first; only places that are run more than once."""
    laps: dict[tuple[str, float], list[Chapter]] = {}
    for chapter in chapters:
        name = chapter.mark.name.partition(LAP)[0]
        laps.setdefault((name, chapter.mark.off_m), []).append(chapter)
    yield from (
        tuple(same) for same in laps.values() if LAP in same[-1].mark.name and len(same) > 1
    )
