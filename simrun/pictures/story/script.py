"""What is told about a race, and when? The moments at named places, and where the picture waits.

One script serves the moving picture, the film and the sheet of stills. A beat comes when the middle
runner of those followed (of seven the fourth) passes a named place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simrun.base.units import METRES_A_YARD
from simrun.course.strip import Gate, Strip
from simrun.pictures.ink.lettering import plain
from simrun.pictures.ink.view import width_words
from simrun.pictures.story.moments import Followed, slowed
from simrun.pictures.story.passings import FASTEST_M_S, passed_s
from simrun.state.recording import Recording

Array = NDArray[np.float64]

SAME_PLACE_M = 15.0
"""Of two names so near to one another along the course only the more important one is told."""

APART_S = 2.0
"""Two beats are so far apart, or the less important one is left out."""

ROUND = 50
"""Round distances: every so many metres or yards."""

_MARK, _LANDMARK, _GATE, _DECIDES = range(4)


@dataclass(frozen=True)
class Beat:
    """One moment that is told: second, where, who is in which place, what to see, how important.

    decides: the first throat or the first turn, where the picture waits.
    """

    t_s: float
    name: str
    place: str
    see: str
    importance: int

    @property
    def lines(self) -> tuple[str, str, str]:
        """The caption."""
        return self.name, self.place, self.see

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


def beats(recording: Recording, whom: Followed, until_s: float, units: str) -> tuple[Beat, ...]:
    """Every beat at a named place up to a second, in order.

    Check: tests/unit/pictures/test_pictures_script.py.
    """
    return _told(recording, whom, until_s, _spots(recording.strip, units))


def distance_beats(
    recording: Recording, whom: Followed, until_s: float, units: str
) -> tuple[Beat, ...]:
    """The same at every round distance, for stretches without a name."""
    unit_m, unit = (METRES_A_YARD, "yd") if units == "us" else (1.0, "m")
    most = min(recording.strip.length_m, FASTEST_M_S * until_s)
    rounds = range(ROUND, int(most / unit_m), ROUND)
    spots = [_Spot(f"{number} {unit}", number * unit_m, _MARK) for number in rounds]
    return _told(recording, whom, until_s, spots)


def _told(
    recording: Recording, whom: Followed, until_s: float, spots: Sequence[_Spot]
) -> tuple[Beat, ...]:
    slow, found = slowed(recording).sum(axis=1), []
    for spot in spots:
        beat = _beat(spot, passed_s(recording, spot.station_m, until_s), whom)
        if beat:
            frame = int(np.searchsorted(recording.times_s, beat.t_s + 1e-9, side="right")) - 1
            count = f"{slow[frame]} of the field" if slow[frame] else "nobody"
            found.append(replace(beat, see=f"{beat.see}{count} slowed"))
    return _apart(found)


def joined(one: Sequence[Beat], other: Sequence[Beat]) -> tuple[tuple[Beat, ...], tuple[Beat, ...]]:
    """The beats that both races have, at the later of the two moments, and who was first there."""
    there = {beat.name: beat for beat in other}
    pairs = [(beat, there[beat.name]) for beat in one if beat.name in there]
    pairs = sorted(pairs, key=lambda pair: max(pair[0].t_s, pair[1].t_s))
    sides = zip(*((_met(a, b), _met(b, a)) for a, b in pairs), strict=True)
    first, second = tuple(sides) or ((), ())
    return _apart(first), _apart(second)


def _met(beat: Beat, other: Beat) -> Beat:
    gain = other.t_s - beat.t_s
    words = f"{abs(gain):.1f} s {'sooner' if gain > 0 else 'later'} than in the other race"
    words = "at the same time in the other race" if round(abs(gain), 1) == 0 else words
    return replace(beat, t_s=max(beat.t_s, other.t_s), see=words)


def _beat(spot: _Spot, passing_s: Array, whom: Followed) -> Beat | None:
    named = bool(whom.who.any())
    theirs = np.sort(passing_s[whom.who] if named else passing_s)
    middle = (len(theirs) - 1) // 2
    if not len(theirs) or not np.isfinite(theirs[middle]):
        return None
    t_s = float(theirs[middle])
    if not named:
        return Beat(t_s, spot.name, "half of the field is past", "", spot.importance)
    place = 1 + int((passing_s < t_s).sum())
    words = f"{_who(whom, middle)} in place {place} of {len(passing_s)}"
    behind = f"{t_s - float(np.nanmin(passing_s)):.1f} s after the first; "
    return Beat(t_s, spot.name, words, behind, spot.importance)


def _who(whom: Followed, middle: int) -> str:
    if whom.who.sum() == 1:
        return plain(whom.label)
    ordinals = ("first", "second", "third", "fourth", "fifth", "sixth")
    which = ordinals[middle] if middle < len(ordinals) else f"no. {middle + 1}"
    return f"{plain(whom.label)}'s {which}"


def _apart(found: Sequence[Beat]) -> tuple[Beat, ...]:
    """Without those that come too soon after or before a more important one, in order of time."""
    kept: list[Beat] = []
    for beat in sorted(found, key=lambda beat: (-beat.importance, beat.t_s)):
        if all(abs(beat.t_s - other.t_s) >= APART_S for other in kept):
            kept.append(beat)
    return tuple(sorted(kept, key=lambda beat: beat.t_s))


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
