"""Who walks on the inside and who outside, and from where can one still get over? Races watched at marks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.sheet.sheet_marks import LEADS_FROM_M
from simrun.answers.sheet.sheet_records import Band
from simrun.answers.whole.preview.chapters import Chapter, own_gate
from simrun.course.strip import Gate
from simrun.measure.squad.across_thirds import Walked, get_over, walk_by_third
from simrun.scenario.changes.changes_course import with_checkpoints
from simrun.scenario.scenario import Scenario
from simrun.trials.carry_out import carry_out, outcomes_of
from simrun.trials.how_sure import Sure, judge_of
from simrun.trials.plan import Plan
from simrun.trials.races import Outcome
from simrun.trials.statistics import CONFIDENCE, holm, single_range

BEFORE_M = 10.0
"""Who walks is looked at from so far before a narrowing or turn on (assumed)."""

APART_M = 0.5
"""Two marks nearer than this are one."""

FEWEST = 30
"""Of fewer runners in all races no share is told (assumed; as of passing)."""

ARM = "at marks"


@dataclass(frozen=True)
class WalksThere:
    """Who walks at one turn or narrowing, of those who come there among ours. Shares of one, 0 to 1.

    thirds: inside, middle and outside of a turn; left, middle and right of a narrowing; nan of fewer than
    FEWEST runners. all_over: of everybody. differs: the last third less the first, race by race. is_seen:
    more than chance and what nobody has measured leave in doubt; beyond_chance: more than chance alone; by
    Holm, since every place of the walk is looked at.
    """

    gate: Gate
    thirds: tuple[Band, Band, Band]
    all_over: Band
    differs: Sure
    is_seen: bool = False
    beyond_chance: bool = False


@dataclass(frozen=True)
class GetsOver:
    """Who wants the inside of a turn and is in the other half of the width here: which share gets there?

    count: so many wanted, in all races.
    """

    gate: Gate
    share: Band
    count: int


@dataclass(frozen=True)
class There:
    """What is told of the sides at one place."""

    walks: tuple[WalksThere, ...] = ()
    over: GetsOver | None = None


def sides_of(
    day: Scenario,
    team: str,
    seeds: Sequence[int],
    store: Path,
    chapters: Sequence[Chapter],
    **how: Any,
) -> Mapping[float, There]:
    """Who walks where, and who still gets over, by the metres of the chapter that tells it.

    Held fixed: nothing is told to anybody, so no share is the price of a line. Who walks is asked of those
    who come there between the first and the last of our team, the same part of the field inside and
    outside. how: as of `carry_out`; the races are kept in the store. Check:
    tests/unit/answers/test_preview_sides.py (a label drawn by lot shows no difference; an empty course no
    walker).
    """
    asked = list(_asked(day, chapters))
    timed, seeds = timed_at(day, asked, chapters), tuple(sorted(seeds))
    plan = Plan({ARM: timed}, seeds, at_marks=True)
    carry_out(plan, store, **how)
    races = tuple(outcomes_of(plan, ARM, store))
    index = [each.name for each in day.teams].index(team)
    station_m = np.array([mark.station_m for mark in timed.strip.checkpoints])
    watched = Watched(day, station_m, races, seeds)
    walks = judged([(at_m, watched.walks(gate, index)) for at_m, gate in asked])
    return {
        chapter.mark.at_m: There(
            tuple(told for at_m, told in walks if at_m == chapter.mark.at_m),
            watched.over(chapter, _turn_ahead(day, chapter)),
        )
        for chapter in chapters
    }


def _asked(day: Scenario, chapters: Sequence[Chapter]) -> Iterator[tuple[float, Gate]]:
    """Every turn and narrowing, with the metres of its own chapter, else of the one before."""
    own = {
        gate: chapter.mark.at_m
        for chapter in chapters
        if (gate := own_gate(day.strip, chapter.mark)) is not None
    }
    for gate in day.strip.gates:
        before = [c.mark.at_m for c in chapters if c.mark.at_m <= begins_m(day, gate) + APART_M]
        yield own.get(gate, max(before)), gate


def _turn_ahead(day: Scenario, chapter: Chapter) -> Gate | None:
    """The next turn, where it begins before the next place and so near that one thinks of it here."""
    at_m = chapter.mark.at_m
    for gate in day.strip.gates:
        far_m = begins_m(day, gate) - at_m
        if gate.kind == "turn" and BEFORE_M < far_m < LEADS_FROM_M and at_m > 0:
            return gate if begins_m(day, gate) <= chapter.to_m + BEFORE_M else None
    return None


def begins_m(day: Scenario, gate: Gate) -> float:
    """Where does it begin, metres along the measured line?"""
    return float(day.strip.station_m[gate.first_cut])


def ends_m(day: Scenario, gate: Gate) -> float:
    """Where does it end?"""
    return float(day.strip.station_m[gate.last_cut])


def middle_m(day: Scenario, gate: Gate) -> float:
    """The middle of a turn; of a narrowing its beginning."""
    begin = begins_m(day, gate)
    return (begin + ends_m(day, gate)) / 2 if gate.kind == "turn" else begin


def timed_at(
    day: Scenario, asked: Sequence[tuple[float, Gate]], chapters: Sequence[Chapter]
) -> Scenario:
    """The race day timed before, in and behind every turn and narrowing, and at every place."""
    wanted = [chapter.mark.at_m for chapter in chapters]
    for _, gate in asked:
        wanted += [begins_m(day, gate) - BEFORE_M, middle_m(day, gate), ends_m(day, gate)]
    end_m = np.floor(100 * day.strip.length_m) / 100
    kept = [float(end_m)]
    for at in sorted(wanted, reverse=True):
        if 1.0 <= at <= kept[-1] - APART_M:
            kept.append(round(float(at), 2))
    return with_checkpoints(day, [(f"at {at:.2f}", at) for at in reversed(kept)])


@dataclass(frozen=True)
class Watched:
    """S races of a day, watched at C stations (C,). The ground is the day's own: a mark adds cuts."""

    day: Scenario
    station_m: NDArray[np.float64]
    races: tuple[Outcome, ...]
    seeds: tuple[int, ...]

    def mark(self, at_m: float) -> int:
        """Which station is nearest to these metres?"""
        return int(np.abs(self.station_m - at_m).argmin())

    def walks(self, gate: Gate, team: int) -> WalksThere:
        """Who walks at this turn or narrowing, third by third, among one team?"""
        before = self.mark(begins_m(self.day, gate) - BEFORE_M)
        middle, end = (self.mark(at(self.day, gate)) for at in (middle_m, ends_m))
        rows = [
            walk_by_third(
                _across(race, middle),
                _slowest(race, range(before + 1, max(middle, end) + 1)),
                _among(race, middle, team),
                int(gate.inside),
            )
            for race in self.races
        ]
        by_race = [row.by_third for row in rows]
        differs = judge_of(self.day, self.seeds)([share[2] - share[0] for share in by_race])
        whole = _pooled([row.walking.sum() for row in rows], [row.runners.sum() for row in rows])
        thirds = [_pooled(*_third(rows, k)) for k in range(3)]
        return WalksThere(gate, (thirds[0], thirds[1], thirds[2]), whole, differs)

    def over(self, chapter: Chapter, gate: Gate | None) -> GetsOver | None:
        """Who still gets to the inside of the turn ahead from the other half? None of fewer than FEWEST."""
        if gate is None:
            return None
        here, there = self.mark(chapter.mark.at_m), self.mark(middle_m(self.day, gate))
        free = np.array([not (team.line or team.lines) for team in self.day.teams])
        found = [
            get_over(
                _across(race, here),
                _across(race, there),
                (race.line == "inside") & free[race.team_index],
                int(gate.inside),
            )
            for race in self.races
        ]
        share = _pooled([each.over for each in found], [each.wanted for each in found])
        count = sum(each.wanted for each in found)
        return GetsOver(gate, share, count) if np.isfinite(share.middle) else None


def _across(race: Outcome, mark: int) -> NDArray[np.float64]:
    assert race.across is not None
    return np.asarray(race.across[:, mark], dtype=float)


def _slowest(race: Outcome, marks: range) -> NDArray[np.float64]:
    """The slowest on the way to any of these marks, (N,); nan for who did not come to all of them."""
    assert race.slowest_m_s is not None
    return np.asarray(race.slowest_m_s[:, list(marks)].min(axis=1), dtype=float)


def _among(race: Outcome, mark: int, team: int) -> NDArray[np.bool_]:
    """Who comes to a mark between the first and the last of a team, these two included?"""
    place = race.place[:, mark]
    own = place[race.team_index == team]
    if not np.isfinite(own).any():
        return np.zeros(len(place), dtype=bool)
    return np.asarray((place >= np.nanmin(own)) & (place <= np.nanmax(own)))


def _third(rows: Sequence[Walked], k: int) -> tuple[list[int], list[int]]:
    return [int(row.walking[k]) for row in rows], [int(row.runners[k]) for row in rows]


def _pooled(some: Sequence[int], of: Sequence[int]) -> Band:
    """The share over all races, and what eight races in ten brought; nan of fewer than FEWEST."""
    if sum(of) < FEWEST:
        return Band(np.nan, np.nan, np.nan)
    races = [one / every for one, every in zip(some, of, strict=True) if every]
    return Band(sum(some) / sum(of), *single_range(races))


def judged(walks: Sequence[tuple[float, WalksThere]]) -> list[tuple[float, WalksThere]]:
    """With which of the differences are more than doubt: all places are looked at, so by Holm."""
    if not walks:
        return []
    whole, chance = (
        holm([each.p_value for each in found]) < 1 - CONFIDENCE
        for found in zip(
            *((told.differs, told.differs.by_chance) for _, told in walks), strict=True
        )
    )
    return [
        (at_m, replace(told, is_seen=bool(sure), beyond_chance=bool(alone)))
        for (at_m, told), sure, alone in zip(walks, whole, chance, strict=True)
    ]
