"""Every figure of a sheet, from the race day and the races behind it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simrun.answers.sheet.sheet_marks import GUN, SheetMark
from simrun.answers.sheet.sheet_races import SheetRaces
from simrun.answers.sheet.sheet_records import (
    Band,
    Near,
    Seen,
    SheetFigures,
    Stand,
    Stretch,
    Told,
    Who,
)
from simrun.course.strip import Strip
from simrun.measure.squad.seen_twice import seen_twice
from simrun.measure.squad.with_whom import Company
from simrun.runners.roster import Roster
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Points, single_ranges
from simrun.trials.statistics import single_range

Array = NDArray[np.float64]

MOST_STRETCHES = 3
"""Who runs with whom is told for so many stretches."""

MOST_SEEN = 2
"""So many ways to see them twice are told."""

MOSTLY = 0.5
"""What happens in this share of the races is told."""

TOLD_SHARE = 0.8
"""A place to be is told where so many of the races give one (assumed)."""

WIDEST_SHARE = 0.25
"""And where eight of ten of them lie within this share of the field (assumed)."""


Written = dict[str, tuple[tuple[str, tuple[int, ...]], ...]]
"""What the plan writes for every turn of every lap, by name@lap: words and who."""

Line = tuple[str, str, tuple[int, ...]]
"""A turn, the words, and who takes it so."""


def band_of(values: ArrayLike, points: Points | None) -> Band:
    """The middle and the range of one figure a race; all nan where no race has it."""
    given = np.asarray(values, dtype=float)
    if not np.isfinite(given).any():
        return Band(np.nan, np.nan, np.nan)
    (low, high), (chance_low, chance_high) = single_ranges(given, points)
    return Band(float(np.nanmedian(given)), low, high, chance_low, chance_high)


def figures_of(
    day: Scenario,
    team: str,
    marks: Sequence[SheetMark],
    raced: SheetRaces,
    how: tuple[str, bool],
) -> SheetFigures:
    """All figures of one team's sheet. how: the units it speaks, and whether all of ours have names on paper.

    Check: tests/unit/answers/test_sheet.py.
    """
    index = [each.name for each in day.teams].index(team)
    stand = stand_of(day, team)
    told = tuple(_told(day, index, marks, raced))
    return SheetFigures(
        day,
        stand,
        told,
        tuple(_stretches(day, index, told, raced)),
        _seen(day.strip, told, raced, index),
        len(raced.races),
        *how,
    )


def stand_of(day: Scenario, team: str) -> Stand:
    """Who stands where, beside whom, and what lies ahead?"""
    roster = day.roster(1)
    ours = np.flatnonzero(roster.team == team)
    index = [each.name for each in day.teams].index(team)
    found = day.teams[index]
    names = [str(roster.name[i]) for i in ours]
    short = short_names(names)
    rows = Counter(int(row) for row in roster.row[ours])
    who = tuple(
        Who(name, brief, int(roster.row[i]), int(roster.file[i]), rows[int(roster.row[i])])
        for name, brief, i in zip(names, short, ours, strict=True)
    )
    box = found.box
    left, right = (_beside(day, box, step) for step in (-1, 1))
    return Stand(team, who, box, left, right, *_ahead(day, box))


def short_names(names: Sequence[str]) -> list[str]:
    """First names, with as many letters of the last as tell them apart."""
    first = Counter(name.split()[0] for name in names)
    short = []
    for name in names:
        given, *rest = name.split()
        short.append(f"{given} {rest[-1][0]}." if first[given] > 1 and rest else given)
    doubled = Counter(short)
    return [name if doubled[brief] > 1 else brief for name, brief in zip(names, short, strict=True)]


def _beside(day: Scenario, box: int | None, step: int) -> str:
    """The team in the box beside ours, where its box is no matter of the draw."""
    if box is None:
        return ""
    return next((team.name for team in day.teams if team.box == box + step), "")


def _ahead(day: Scenario, box: int | None) -> tuple[str, float, float]:
    """The first place where the course closes down or turns, seen from our box."""
    strip = day.strip
    if not strip.gates:
        return "", np.nan, np.nan
    gate = strip.gates[0]
    at_m = float(strip.station_m[gate.first_cut])
    if box is None:
        return gate.name, at_m, np.nan
    here, there = day.start_line.stand_middle_m(box), np.array(strip.point_at(at_m))
    return gate.name, at_m, float(there[1] - here[1])


def _told(
    day: Scenario, index: int, marks: Sequence[SheetMark], raced: SheetRaces
) -> Iterator[Told]:
    roster = day.roster(1)
    lines = _written_lines(day, index)
    for k, mark in enumerate(marks):
        ahead_m = marks[k + 1].at_m if k + 1 < len(marks) else None
        ground = None if ahead_m is None else raced.passing(mark.at_m, ahead_m)
        here = _lines_between(day.strip, lines, mark.at_m, ahead_m)
        if mark.kind == GUN:
            yield Told(mark, (), (), ground, here)
            continue
        seen = told_at(mark, index, raced)
        free = _free_place(mark, raced, len(roster))
        yield replace(seen, passing=ground, lines=here, free_place=free)


def told_at(mark: SheetMark, index: int, raced: SheetRaces) -> Told:
    """When and in which places do ours come to this mark? Nothing else is told of it."""
    times, place = raced.times_s(mark.at_m, index), raced.places(mark.at_m, index)
    return Told(
        mark,
        tuple(band_of(each, raced.points) for each in times.T),
        tuple(band_of(each, raced.points) for each in place.T),
        None,
    )


def _free_place(mark: SheetMark, raced: SheetRaces, runners: int) -> Band | None:
    """Where to be at this mark; None where the races do not agree on it, or nobody is held up."""
    if mark.narrow is None:
        return None
    found = raced.free_places(mark.at_m, mark.narrow)
    known = np.isfinite(found)
    if known.sum() < max(2, TOLD_SHARE * len(found)):
        return None
    band = band_of(found, raced.points)
    return band if band.high - band.low <= WIDEST_SHARE * runners else None


def _written_lines(day: Scenario, index: int) -> Written:
    """The line that the plan writes for every turn of every lap: {name@lap: words and who}. What is drawn
    is no plan."""
    team = day.teams[index]
    found: Written = {}
    for gate in day.strip.gates:
        if gate.kind != "turn":
            continue
        for_turn = team.lines.get(f"{gate.name}@{gate.lap}", team.lines.get(gate.name))
        words: dict[str, list[int]] = {}
        for runner in range(team.runners):
            person = team.people[runner] if runner < len(team.people) else None
            own = person.line if person and person.line else for_turn or team.line
            if own is not None:
                words.setdefault(str(own), []).append(runner)
        found[f"{gate.name}@{gate.lap}"] = tuple((w, tuple(who)) for w, who in words.items())
    return found


def _lines_between(
    strip: Strip, lines: Written, from_m: float, to_m: float | None
) -> tuple[Line, ...]:
    """What the plan says for the turns between two marks: (turn, words, who)."""
    if to_m is None:
        return ()
    told: list[Line] = []
    for gate in strip.gates:
        at_m = float(strip.station_m[gate.first_cut])
        if gate.kind == "turn" and from_m - 1.0 <= at_m < to_m - 1.0:
            told += [(gate.name, word, who) for word, who in lines[f"{gate.name}@{gate.lap}"]]
    return tuple(told)


def _stretches(
    day: Scenario, index: int, told: Sequence[Told], raced: SheetRaces
) -> Iterator[Stretch]:
    marks = [each.mark for each in told]
    for first, last in pairwise(_ends(marks)):
        yield stretch_of(day, index, (first, last), raced)


def stretch_of(
    day: Scenario, index: int, ends: tuple[SheetMark, SheetMark], raced: SheetRaces
) -> Stretch:
    """Who is near every one of a team from one mark to another?"""
    # With an entry list everybody is the same person in every race, so one roster names them all.
    names = day.roster(1) if day.field.seed_times else None
    races = raced.company(ends[0].at_m, ends[1].at_m, index)
    runners = range(day.teams[index].runners)
    return Stretch(*ends, tuple(_near(k, races, names, raced.points) for k in runners))


def _ends(marks: Sequence[SheetMark]) -> list[SheetMark]:
    """From the first mark to the finish in at most MOST_STRETCHES stretches about equally long."""
    inner = marks[2:-1]
    first, last = marks[1], marks[-1]
    wanted = np.linspace(first.at_m, last.at_m, MOST_STRETCHES + 1)[1:-1]
    kept = (
        {min(inner, key=lambda mark: abs(mark.at_m - at)).at_m for at in wanted} if inner else set()
    )
    return [first, *(mark for mark in inner if mark.at_m in kept), last]


def _near(k: int, races: Sequence[Company], names: Roster | None, points: Points | None) -> Near:
    """Who is near the k-th of ours on one stretch? names: of the others, where they have any."""
    gaps = np.stack([race.gap_m[k] for race in races])
    mates = [int(np.nanargmin(np.abs(gap))) if np.isfinite(gap).any() else -1 for gap in gaps]
    (mate, count), *_ = Counter(mates).most_common(1)
    known = mate >= 0
    metres = gaps[:, mate] if known else np.full(len(races), np.nan)
    alone = np.array([bool(race.alone[k]) for race in races])
    ahead = [_name_of(int(race.ahead[k]), race.ours, names) for race in races]
    look = np.array([race.ahead_m[k] for race in races])
    return Near(
        k,
        mate if known else None,
        band_of(np.abs(metres), points),
        float(np.nanmedian(metres)) if np.isfinite(metres).any() else np.nan,
        count if known else 0,
        band_of([race.rivals[k] for race in races], points),
        _rivals(k, races, names) if names else (),
        int(alone.sum()),
        _most_often(ahead, alone),
        band_of(np.where(alone, look, np.nan), points),
    )


def _rivals(k: int, races: Sequence[Company], names: Roster) -> tuple[str, ...]:
    """Who of other teams is near in at least half of the races? The most often first."""
    seen: Counter[str] = Counter()
    for race in races:
        others = np.setdiff1d(np.flatnonzero(race.near[k]), race.ours)
        seen.update(_full_name(int(i), names) for i in others)
    return tuple(name for name, count in seen.most_common() if count >= MOSTLY * len(races))


def _full_name(row: int, names: Roster) -> str:
    return f"{names.name[row]} ({names.team[row]})"


def _name_of(row: int, ours: NDArray[np.int64], names: Roster | None) -> str:
    """Who is it? Of ours by number, of others by name where they have one."""
    if row < 0:
        return ""
    if row in ours:
        return f"#{int(np.flatnonzero(ours == row)[0])}"
    return _full_name(row, names) if names else ""


def _most_often(ahead: Sequence[str], alone: NDArray[np.bool_]) -> str:
    """The next ahead in most of the races in which the runner is alone; empty where nobody is named."""
    names = [name for name, lonely in zip(ahead, alone, strict=True) if lonely and name]
    return Counter(names).most_common(1)[0][0] if names else ""


def _seen(strip: Strip, told: Sequence[Told], raced: SheetRaces, index: int) -> tuple[Seen, ...]:
    """The two best ways to see the team twice, the start left out: everybody is there."""
    marks = [each.mark for each in told if each.mark.kind != GUN]
    times = np.stack([raced.times_s(mark.at_m, index) for mark in marks], axis=-1)
    found = seen_twice(strip, [mark.at_m for mark in marks], times)
    rows: list[Seen] = []
    for pair in found:
        if len(rows) == MOST_SEEN or marks[pair.first] in {row.first for row in rows}:
            continue
        one, other = (passing_by(times[:, :, number]) for number in (pair.first, pair.second))
        rows.append(Seen(marks[pair.first], marks[pair.second], pair.walk_m, *one, *other))
    return tuple(rows)


def passing_by(times_s: Array) -> tuple[float, float]:
    """When do the first and the last of ours come by? By what eight races in ten brought."""
    first, last = np.nanmin(times_s, axis=1), np.nanmax(times_s, axis=1)
    return single_range(first)[0], single_range(last)[1]
