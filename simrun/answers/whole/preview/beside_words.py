"""Beside what the sheet says: who walks where, who still gets over, where spectators see them and cross."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from simrun.answers.sheet.sheet_races import SheetRaces
from simrun.answers.sheet.sheet_records import Band
from simrun.answers.sheet.sheet_rows import passing_by
from simrun.answers.sheet.words import seen_of
from simrun.answers.whole.preview.chapters import LAP
from simrun.answers.whole.preview.sides import BEFORE_M, GetsOver, There, WalksThere
from simrun.answers.whole.preview.squads import Row, Squad, shared
from simrun.answers.whole.preview.words import title_words
from simrun.base.units import length_text, pace_text
from simrun.course.strip import Side
from simrun.measure.squad.across_thirds import WALKS_M_S
from simrun.measure.squad.nobody_there import Span, comes_by, nobody_there
from simrun.pages.numbers import DASH, NOTHING_SEEN, the_mark, whole, whole_clock, whole_ends
from simrun.pages.page import Part, table_of
from simrun.pages.sure_words import UNMEASURED
from simrun.pages.walk import Said

WORTH_SHARE = 0.15
"""Where fewer walk, nothing is said of it (assumed)."""

EVERYBODY_SHARE, HALF_SHARE = 0.8, 0.45
"""Where more than these get over there is time, or it is no longer likely (assumed)."""

OF_TURN, OF_NARROW = ("inside", "middle", "outside"), ("left", "middle", "right")
SIDE_NAMES = {Side.LEFT: "left", Side.RIGHT: "right"}
OTHER_SIDE = {Side.LEFT: "right", Side.RIGHT: "left"}
SPECTATORS = "Parents and coaches"
CROSS_WITH_CARE = (
    "When nobody comes by is told of these simulated races alone: on the day somebody may be earlier or "
    "later. Stand and cross only where the marshals let you; the local rules decide."
)


def sides_said(there: There, races: int, units: str) -> tuple[Said, ...]:
    """Who walks at the turns and narrowings told of here, and who still gets over for the next turn."""
    said = [walks_said(walks, races, units) for walks in there.walks]
    said += [over_said(there.over, races)] if there.over else []
    return tuple(one for one in said if one is not None)


def walks_said(walks: WalksThere, races: int, units: str) -> Said | None:
    """Who walks at one turn or narrowing; None where hardly anybody does."""
    names = OF_NARROW if walks.gate.inside == Side.NONE else OF_TURN
    first, last = walks.thirds[0], walks.thirds[2]
    at = f"at {the_mark(_gate_name(walks))}"
    if walks.beyond_chance and max(first.middle, last.middle) >= WORTH_SHARE:
        order = ((names[0], first), (names[2], last))
        more, less = order if first.middle > last.middle else order[::-1]
        doubt = "" if walks.is_seen else f": more than chance, but {UNMEASURED} may undo that"
        here, there = (_placed(name) for name, _ in (more, less))
        text = f"{here} {at} {_in_ten(more[1])}, {there.lower()} {_in_ten(less[1])}{doubt}."
        return Said(text, _walks_more(walks, names, races, units))
    if not walks.all_over.middle >= WORTH_SHARE:
        return None
    text = f"{_capital(_in_ten(walks.all_over))} {at}; {names[0]} or {names[2]}, {NOTHING_SEEN}."
    return Said(text, _walks_more(walks, names, races, units))


def _gate_name(walks: WalksThere) -> str:
    return walks.gate.name + (f", lap {walks.gate.lap}" if walks.gate.lap > 1 else "")


def _placed(name: str) -> str:
    return _capital(name) if name in OF_TURN else f"On the {name}"


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"


def _in_ten(share: Band) -> str:
    of_ten = round(10 * share.middle)
    if of_ten in (0, 10):
        return "hardly anybody walks" if of_ten == 0 else "almost everybody walks"
    return f"{of_ten} in 10 walk{'s' if of_ten == 1 else ''}"


def _walks_more(walks: WalksThere, names: Sequence[str], races: int, units: str) -> str:
    """The figures behind it: third by third, and what was asked of whom."""
    shares = "; ".join(
        f"{name} {_hundred(band)}" for name, band in zip(names, walks.thirds, strict=True)
    )
    before = length_text(BEFORE_M, units) if units == "us" else f"{BEFORE_M:.0f} m"
    return (
        f"So many of 100 in each third of the width walk there, eight races in ten in brackets: {shares}. Of "
        f"those who come there between the first and the last of ours, in {races} races; whoever is slower "
        f"than {pace_text(WALKS_M_S, units)} walks, from {before} before it on. Where to run was told to "
        "nobody for this, so it is not what a line costs."
    )


def _hundred(band: Band) -> str:
    if math.isnan(band.middle):
        return "too few to say"
    return f"{whole(100 * band.middle)} ({whole_ends(100 * band.low, 100 * band.high)})"


def over_said(over: GetsOver, races: int) -> Said | None:
    """On which side one has to be by here for the next turn; None where almost everybody still gets over."""
    inside, other = SIDE_NAMES[over.gate.inside], OTHER_SIDE[over.gate.inside]
    if not over.share.middle < EVERYBODY_SHARE:
        return None
    turn = the_mark(over.gate.name)
    begin = "Be" if over.share.middle < HALF_SHARE else "Better be"
    of_ten = round(10 * over.share.middle)
    get = (
        "hardly anybody gets" if of_ten == 0 else f"{of_ten} in 10 get{'s' if of_ten == 1 else ''}"
    )
    text = f"{begin} on the {inside} by here if you want the inside at {turn}: from the {other} {get} over."
    more = (
        f"In {races} races {over.count} runners whose own line is the inside came by here on the {other} "
        f"half; of 100 of them {_hundred(over.share)} were on the {inside} half in the turn, eight races in "
        "ten in brackets. Teams that are told a line are left out."
    )
    return Said(text, more)


def parents_part(squads: Sequence[Squad], rows: Sequence[Row]) -> Part:
    """For parents and coaches: when ours come by, when nobody does, and the ways to see them twice."""
    said = []
    for squad in squads:
        whose = f"{squad.team}: " if len(squads) > 1 else ""
        said += [f"{whose}{text}" for text in seen_of(squad.figures)]
    crossing_m = squads[0].figures.day.start.crossing_m
    if crossing_m is not None:
        far = length_text(crossing_m, squads[0].figures.units)
        said.append(f"The spectators' crossing lies {far} ahead of the line.")
    ours = [squad.team if len(squads) > 1 else "ours" for squad in squads]
    head = ["", *(f"{who} come by" for who in ours), "nobody comes by"]
    table = table_of([head, *_spot_rows(squads, rows)], left=2 + len(squads))
    return Part(SPECTATORS, (*said, CROSS_WITH_CARE), tables=(table,))


def _spot_rows(squads: Sequence[Squad], rows: Sequence[Row]) -> Iterator[list[str]]:
    """A row a spot, whichever lap it is run on; the line is left to the officials."""
    sheet, units = squads[0].sheet, squads[0].figures.units
    told: list[float] = []
    for row in rows:
        chapter = shared(row)
        spans = comes_by(sheet.day.strip, chapter.mark.at_m)
        if chapter.mark.at_m == 0 or any(
            low <= at_m <= high for at_m in told for low, high in spans
        ):
            continue
        told.append(chapter.mark.at_m)
        ours = ["; ".join(_ours_by(squad, span) for span in spans) for squad in squads]
        comes, gone = zip(*(_near_s(sheet.raced, span) for span in spans), strict=True)
        name = title_words(chapter, units).partition(LAP)[0]
        yield [name, *ours, _free_words(nobody_there(comes, gone))]


def _near_s(raced: SheetRaces, span: Span) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """When is everybody of all races at the last mark before a piece of the way, and the first behind it?"""
    before, behind = (
        raced.station_m[raced.station_m <= span[0]],
        raced.station_m[raced.station_m >= span[1]],
    )
    gone = np.concatenate(
        raced.everybody_s(float(behind[0] if len(behind) else raced.station_m[-1]))
    )
    if not len(before):
        return np.zeros_like(gone), gone
    return np.concatenate(raced.everybody_s(float(before[-1]))), gone


def _ours_by(squad: Squad, span: Span) -> str:
    """From when to when ours come by, in eight races of ten."""
    team = [each.name for each in squad.sheet.day.teams].index(squad.team)
    times = squad.sheet.raced.times_s(sum(span) / 2, team)
    if not np.isfinite(times).any(axis=1).all():
        return DASH
    return " to ".join(map(whole_clock, passing_by(times)))


def _free_words(spans: Sequence[Span]) -> str:
    """ "before 0:31, 1:50 to 4:02, after 5:40": rounded to where somebody may already be there."""
    said = []
    for begin, end in spans:
        if begin == 0.0:
            said.append(f"before {whole_clock(math.floor(end))}")
        elif end == np.inf:
            said.append(f"after {whole_clock(math.ceil(begin))}")
        else:
            said.append(f"{whole_clock(math.ceil(begin))} to {whole_clock(math.floor(end))}")
    return ", ".join(said) or DASH
