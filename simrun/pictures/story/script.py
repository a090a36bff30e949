"""What is told about a race, and when? The moments at named places, and where the picture waits.

One script serves the moving picture, the film and the sheet of stills. A beat comes when the middle
runner of those followed (of seven the fourth) passes a named place, and where most was lost; the last says
what it cost. Each tells the seconds that were lost since the one before, and to what.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simrun.base.units import METRES_A_YARD
from simrun.course.strip import Gate, Strip
from simrun.pictures.ink.lettering import plain
from simrun.pictures.ink.view import clock_words, width_words
from simrun.pictures.story.losing import PARTS, Losing
from simrun.pictures.story.moments import Followed
from simrun.pictures.story.pacing import STRETCH, costliest
from simrun.pictures.story.passings import FASTEST_M_S, passed_s

Array = NDArray[np.float64]

SAME_PLACE_M = 15.0
"""Of two names so near to one another along the course only the more important one is told."""

APART_S = 2.0
"""Two beats are so far apart, or the less important one is left out."""

_COUNTS = ("nobody", "one", "two", "three", "four", "five", "six")

ROUND = 50
"""Round distances: every so many metres or yards."""

END = "what it cost"

_MARK, _LANDMARK, _GATE, _DECIDES = range(4)


@dataclass(frozen=True)
class Beat:
    """One moment that is told: second, where, who is in which place, what to see, how important, what was
    lost since the moment told before.

    decides: the first throat, the first turn, or where most was lost: the picture waits.
    """

    t_s: float
    name: str
    place: str
    see: str
    importance: int
    lost: str = ""

    @property
    def lines(self) -> tuple[str, str, str, str]:
        """The caption."""
        return self.name, self.place, self.see, self.lost

    @property
    def is_the_end(self) -> bool:
        """Does it say what it cost in all?"""
        return self.name == END

    @property
    def decides(self) -> bool:
        """Does the picture wait here?"""
        return self.importance == _DECIDES


@dataclass(frozen=True)
class _Spot:
    """A named place: what it is called and where along the measured line it is passed."""

    name: str
    station_m: float
    importance: int


@dataclass(frozen=True)
class _Passing:
    """A beat with the seconds at which everybody passed, and which runner it tells of (-1: the field)."""

    beat: Beat
    passing_s: Array
    runner: int


@dataclass(frozen=True)
class Script:
    """What is told of one race between two seconds. Check: tests/unit/pictures/test_pictures_script.py."""

    losing: Losing
    whom: Followed
    span_s: tuple[float, float]
    units: str

    def beats(self, kind: str = "named") -> tuple[Beat, ...]:
        """Every beat of a kind in order: at named places, at round distances ("rounds"), or at every place.

        What cost most and what it cost in all are among the first and the last.
        """
        named = [] if kind == "rounds" else _spots(self.losing.recording.strip, self.units)
        spots = named if kind == "named" else [*named, *self._rounds()]
        most = None if kind == "rounds" else self._costliest()
        found = [self._passing(spot) for spot in (*spots, *([most] if most else []))]
        kept = _kept([one for one in found if one])
        told = [self._with_loss(kept, number) for number in range(len(kept))]
        end = self._end() if kind != "rounds" else None
        return tuple([*told, end] if end else told)

    def costliest(self) -> Beat | None:
        """The beat where most was lost, also where another is told in its place."""
        found = self._costliest()
        passing = self._passing(found) if found else None
        return passing.beat if passing else None

    def _rounds(self) -> list[_Spot]:
        unit_m, unit = _unit(self.units)
        most = min(self.losing.recording.strip.length_m, FASTEST_M_S * self.span_s[1])
        rounds = range(ROUND, int(most / unit_m), ROUND)
        return [_Spot(f"{number} {unit}", number * unit_m, _MARK) for number in rounds]

    def _costliest(self) -> _Spot | None:
        """The end of the stretch that cost those followed most."""
        unit_m, unit = _unit(self.units)
        found = costliest(self.losing, self._theirs, self.span_s, STRETCH * unit_m)
        if not found:
            return None
        name = f"{_section(self.losing.recording.strip, found[0])}: the costliest {STRETCH} {unit}"
        return _Spot(name, found[1], _DECIDES)

    @property
    def _theirs(self) -> NDArray[np.bool_]:
        who = self.whom.who
        return who if who.any() else np.ones_like(who)

    def _passing(self, spot: _Spot) -> _Passing | None:
        passing = passed_s(self.losing.recording, spot.station_m, self.span_s[1])
        return _told(spot, passing, self.whom)

    def _with_loss(self, kept: Sequence[_Passing], number: int) -> Beat:
        """The beat with what its runner lost since the place told before."""
        one = kept[number]
        since, begin = "the gun", self.losing.recording.times_s[0]
        if number and (before := kept[number - 1]):
            since = before.beat.name.partition(", ")[0].partition(":")[0]
            begin = before.beat.t_s if one.runner < 0 else float(before.passing_s[one.runner])
        span = begin, one.beat.t_s
        see = one.beat.see if one.runner < 0 else f"{one.beat.see}; {self._cause(span, one.runner)}"
        return replace(one.beat, see=see, lost=self._lost_words(span, one.runner, since))

    def _lost_words(self, span_s: tuple[float, float], runner: int, since: str) -> str:
        parts = np.diff(self.losing.parts_s(np.array(span_s)), axis=1)[:, 0]
        theirs = parts.mean(axis=1) if runner < 0 else parts[:, runner]
        lost = float(theirs.sum())
        if not np.isfinite(lost):
            return ""
        if abs(lost) < 0.05:
            return f"nothing lost since {since}"
        if lost < 0:
            return f"{abs(lost):.1f} s gained since {since}"
        most = int(theirs.argmax())
        a_runner = " a runner" if runner < 0 else ""
        return f"+{lost:.1f} s{a_runner} since {since}, of it {PARTS[most]} {theirs[most]:.1f}"

    def _cause(self, span_s: tuple[float, float], runner: int) -> str:
        """On which line, and how many ran close ahead where it went fastest."""
        t_s = np.arange(span_s[0], span_s[1] + 0.05, 0.1)
        worst = float(t_s[int(self.losing.rate_s_s(t_s)[:, runner].argmax())])
        held = self.losing.close_ahead(worst, runner)
        count = _COUNTS[held] if held < len(_COUNTS) else str(held)
        return f"{self.losing.recording.roster.line[runner]} line, {count} close ahead"

    def _end(self) -> Beat | None:
        """What it cost those followed by the end of what is shown."""
        end = self.span_s[1]
        parts = self.losing.parts_s(np.array([end]))[:, 0][:, self._theirs].mean(axis=1)
        lost = float(parts.sum())
        if not np.isfinite(lost):
            return None
        who = plain(self.whom.label) if self.whom.who.any() else "the field"
        each = "" if self.whom.who.sum() == 1 else " a runner"
        verb = "lost" if lost >= 0 else "gained"
        split = ", ".join(
            f"{name} {part:.1f}"
            for name, part in zip(PARTS, parts, strict=True)
            if abs(part) >= 0.05
        )
        place = f"{who} {verb} {abs(lost):.1f} s{each} by {clock_words(end).partition('.')[0]}"
        return Beat(end, END, place, split, _DECIDES)


def _unit(units: str) -> tuple[float, str]:
    return (METRES_A_YARD, "yd") if units == "us" else (1.0, "m")


def _section(strip: Strip, station_m: float) -> str:
    """What is the ground called here?"""
    cell = int(np.clip(np.searchsorted(strip.station_m, station_m) - 1, 0, len(strip.section) - 1))
    return plain(strip.section_names[strip.section[cell]])


def with_costliest(beats: tuple[Beat, ...], most: Beat | None) -> tuple[Beat, ...]:
    """The beats, the costliest named: where a throat or turn is told at that moment, it bears the words."""
    if most is None or any(beat.name == most.name for beat in beats):
        return beats
    words = most.name[most.name.index(":") :]
    return tuple(
        replace(beat, name=f"{beat.name}{words}")
        if beat.decides and not beat.is_the_end and abs(beat.t_s - most.t_s) < APART_S
        else beat
        for beat in beats
    )


def joined(one: Sequence[Beat], other: Sequence[Beat]) -> tuple[tuple[Beat, ...], tuple[Beat, ...]]:
    """The beats that both races have, at the later of the two moments, and who was first there."""
    there = {beat.name: beat for beat in other}
    pairs = [(beat, there[beat.name]) for beat in one if beat.name in there]
    pairs = sorted(pairs, key=lambda pair: max(pair[0].t_s, pair[1].t_s))
    sides = zip(*((_met(a, b), _met(b, a)) for a, b in pairs), strict=True)
    first, second = tuple(sides) or ((), ())
    return _with_end(first), _with_end(second)


def _with_end(found: Sequence[Beat]) -> tuple[Beat, ...]:
    """What it cost drives nothing away, and nothing drives it away."""
    end = [beat for beat in found if beat.is_the_end]
    return (*_apart([beat for beat in found if not beat.is_the_end]), *end)


def _met(beat: Beat, other: Beat) -> Beat:
    if beat.is_the_end:
        return replace(beat, t_s=max(beat.t_s, other.t_s))
    gain = other.t_s - beat.t_s
    words = f"{abs(gain):.1f} s {'sooner' if gain > 0 else 'later'} than in the other race"
    words = "at the same time in the other race" if round(abs(gain), 1) == 0 else words
    return replace(beat, t_s=max(beat.t_s, other.t_s), see=words)


def _told(spot: _Spot, passing_s: Array, whom: Followed) -> _Passing | None:
    named = bool(whom.who.any())
    theirs = np.where(whom.who | (not named), passing_s, np.nan)
    order = np.argsort(theirs, kind="stable")
    middle = ((int(whom.who.sum()) if named else len(passing_s)) - 1) // 2
    if middle < 0 or not np.isfinite(theirs[order[middle]]):
        return None
    runner = int(order[middle])
    t_s = float(passing_s[runner])
    if not named:
        beat = Beat(t_s, spot.name, "half of the field is past", "", spot.importance)
        return _Passing(beat, passing_s, -1)
    place = 1 + int((passing_s < t_s).sum())
    words = f"{_who(whom, middle)} in place {place} of {len(passing_s)}"
    behind = f"{t_s - float(np.nanmin(passing_s)):.1f} s after the first"
    return _Passing(Beat(t_s, spot.name, words, behind, spot.importance), passing_s, runner)


def _who(whom: Followed, middle: int) -> str:
    if whom.who.sum() == 1:
        return plain(whom.label)
    ordinals = ("first", "second", "third", "fourth", "fifth", "sixth")
    which = ordinals[middle] if middle < len(ordinals) else f"no. {middle + 1}"
    return f"{plain(whom.label)}'s {which}"


def _apart(found: Sequence[Beat]) -> tuple[Beat, ...]:
    """Without those that come too soon after or before a more important one, in order of time."""
    return tuple(one.beat for one in _kept([_Passing(beat, np.zeros(0), -1) for beat in found]))


def _kept(found: Sequence[_Passing]) -> list[_Passing]:
    kept: list[_Passing] = []
    for one in sorted(found, key=lambda one: (-one.beat.importance, one.beat.t_s)):
        if all(abs(one.beat.t_s - other.beat.t_s) >= APART_S for other in kept):
            kept.append(one)
    return sorted(kept, key=lambda one: one.beat.t_s)


def _spots(strip: Strip, units: str) -> list[_Spot]:
    """The named places, the important ones first, each place once."""
    kept: list[_Spot] = []
    for spot in sorted(_all(strip, units), key=lambda spot: -spot.importance):
        if spot.name and not any(_same(spot, old) for old in kept):
            kept.append(spot)
    return kept


def _same(one: _Spot, other: _Spot) -> bool:
    names = (spot.name.partition(", ")[0] for spot in (one, other))
    return len(set(names)) == 1 or abs(one.station_m - other.station_m) <= SAME_PLACE_M


def _all(strip: Strip, units: str) -> Iterator[_Spot]:
    turn, throat = (first_gate(strip, turn=which) for which in (True, False))
    for gate in strip.gates:
        name = plain(gate.name) if gate.lap == 1 else f"{plain(gate.name)} (lap {gate.lap})"
        cut = deciding_cut(strip, gate)
        width = "" if gate.kind == "turn" else f", {width_words(strip.width_m[cut], units)}"
        importance = _DECIDES if gate in (turn, throat) else _GATE
        yield _Spot(name + width, float(strip.station_m[cut]), importance)
    for marks, importance in ((strip.landmarks, _LANDMARK), (strip.checkpoints, _MARK)):
        for mark in marks:
            yield _Spot(plain(mark.name), mark.station_m, importance)


def first_gate(strip: Strip, *, turn: bool) -> Gate | None:
    """The first turn of the course, or its first throat."""
    return next((gate for gate in strip.gates if (gate.kind == "turn") == turn), None)


def deciding_cut(strip: Strip, gate: Gate) -> int:
    """Where is a gate passed? A turn in its middle, a throat where it is narrowest first."""
    if gate.kind == "turn":
        return (gate.first_cut + gate.last_cut) // 2
    return gate.first_cut + int(strip.width_m[gate.first_cut : gate.last_cut + 1].argmin())
