"""The walk in words: where, what you see, where each is to be. What to do is said by the sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

from simrun.answers.card.words import CLIMB_M, advice_words
from simrun.answers.chase.words import CANNOT_SAY, RACING_ON, kick_said, to_go_words
from simrun.answers.sheet.sheet_records import Band, SheetFigures, Told
from simrun.answers.sheet.words import (
    DASH,
    RECALL,
    ahead_words,
    at_mark_words,
    box_words,
    foot_of,
    free_words,
    ground_words,
    line_words,
    mark_cells,
    mark_words,
    near_cell,
    near_said,
    recall_words,
    said_of,
    sentence_of,
)
from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.to_go import ToGo
from simrun.base.units import length_text
from simrun.measure.squad.what_is_ahead import Ahead, Bend
from simrun.measure.squad.with_whom import NEAR_M
from simrun.pages.numbers import ends, tenths, the_mark, whole, whole_clock, whole_ends
from simrun.pages.walk import Said
from simrun.scenario.tables.schema_places import PlaceTable

SIDES = {-1: "Left", 1: "Right"}
BESIDE = {"left": "On the left", "right": "On the right", "both": "On both sides"}
VIEWS = {
    "ahead": "looking ahead",
    "back": "looking back",
    "left": "looking to the left",
    "right": "looking to the right",
}
OURS_HEAD = ("", "where to be", "time", "place", "nearest of ours", "rivals near")
THE_LINE = "the line"
LENGTH = re.compile(r"[\d.]+ ?(m|km|yd|ft|miles?)")
TOO_EARLY = "The start is still going on here, so no kick is counted."


def title_words(chapter: Chapter, units: str) -> str:
    """What is the place called?"""
    return _capital(_name_of(chapter, units))


def _name_of(chapter: Chapter, units: str) -> str:
    """As the coach calls it, else as the sheet does; where the gun goes is the line."""
    if chapter.place and chapter.place.name:
        return chapter.place.name
    return THE_LINE if chapter.mark.at_m == 0 else mark_words(chapter.mark, units)


def _capital(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"


def where_words(chapter: Chapter, after: Chapter | None, figures: SheetFigures) -> str:
    """How far from the gun and to go, and what comes next."""
    units, length_m = figures.units, figures.day.strip.length_m
    if chapter.mark.at_m == 0:
        return f"{box_words(figures.stand)} {ahead_words(figures.stand, units)}".strip()
    far, left = chapter.mark.at_m, length_m - chapter.mark.at_m
    if after is None:
        return f"{length_text(length_m, units)} from the gun: the race ends here."
    next_m = after.mark.at_m - far
    return (
        f"{length_text(far, units)} from the gun, {length_text(left, units)} to go. "
        f"Next: {inside_words(after, units)} in {length_text(next_m, units)}."
    )


def inside_words(chapter: Chapter, units: str) -> str:
    """The place inside a sentence."""
    return the_place(_name_of(chapter, units))


def the_place(name: str) -> str:
    """As `the_mark`, but what is only called by its length is "the 400 m mark"."""
    return f"the {name} mark" if LENGTH.fullmatch(name) else the_mark(name)


def see_words(chapter: Chapter, units: str) -> tuple[str, ...]:
    """What the ground looks like, and what the coach says of it."""
    said = [_width_words(chapter.ahead, units)]
    said += [_bend_words(bend, units) for bend in chapter.ahead.bends]
    climb = chapter.ahead.climb_m
    if abs(climb) >= CLIMB_M:
        said.append(f"{'Climbs' if climb > 0 else 'Drops'} {length_text(abs(climb), units)}.")
    said += _barrier_words(chapter)
    return (*said, *(place_words(chapter.place) if chapter.place else ()))


def _width_words(ahead: Ahead, units: str) -> str:
    here = length_text(ahead.width_m, units)
    if ahead.closes:
        least, far = (
            length_text(each, units) for each in (ahead.narrowest_m, ahead.narrowest_in_m)
        )
        return f"{here} wide, closing to {least} in {far}."
    if ahead.opens:
        return f"{here} wide, opening to {length_text(ahead.widest_m, units)}."
    return f"{here} wide."


def _bend_words(bend: Bend, units: str) -> str:
    far = f" in {length_text(bend.in_m, units)}" if bend.in_m >= 1.0 else ""
    how = ", tight" if bend.is_tight else ""
    return (
        f"{SIDES[bend.side]} turn at {the_mark(bend.name)}{far}, {bend.angle_deg:.0f} degrees{how}."
    )


def _barrier_words(chapter: Chapter) -> list[str]:
    """The coach's word goes before the drawing's."""
    if chapter.place and chapter.place.barrier:
        return [f"A wall or fence on the {chapter.place.barrier} only."]
    left, right = chapter.ahead.barrier_left, chapter.ahead.barrier_right
    if left and right:
        return ["A wall or fence on both sides."]
    return [f"A wall or fence on the {'left' if left else 'right'} only."] if left or right else []


def place_words(place: PlaceTable) -> tuple[str, ...]:
    """What the coach says one sees there."""
    said = []
    if place.see:
        beside = f"{BESIDE[place.side]}: " if place.side else ""
        said.append(_ended(_capital(f"{beside}{place.see}")))
    if place.mind:
        said.append(f"Watch for: {', '.join(place.mind)}.")
    if place.crowd:
        said.append("The crowd stands here.")
    return tuple(said)


def _ended(text: str) -> str:
    return text if text[-1] in ".!?" else f"{text}."


def do_said(chapter: Chapter, figures: SheetFigures) -> tuple[Said, ...]:
    """What the sheet says to do here, each with the figure behind it."""
    told = chapter.told
    free = free_words(told)
    said = tuple(
        Said(text, free_more(told, figures) if text == free else ground_more(told, figures))
        for text in said_of(told, figures)
    )
    turn = line_words(chapter.turn, figures) if chapter.turn else ""
    return (*((Said(turn),) if turn else ()), *(said or ground_said(told)))


def ground_said(told: Told) -> tuple[Said, ...]:
    """Where the sheet says nothing of the ground ahead: what the card says of such ground."""
    if told.passing is None:
        return ()
    return (Said(advice_words(told.passing.word, told.passing)),)


def free_more(told: Told, figures: SheetFigures) -> str:
    """The figure behind where to be."""
    assert told.free_place
    return (
        f"The last place that is not held up there: {_band_words(told.free_place)}, in "
        f"{figures.races} races."
    )


def ground_more(told: Told, figures: SheetFigures) -> str:
    """The figure behind the room to pass; empty where none is told."""
    if not ground_words(told) or told.passing is None:
        return ""
    wished, made = told.passing.wished.sum(), told.passing.made.sum()
    return (
        f"From here to the next mark of the sheet, in {figures.races} races: {whole(wished)} faster runners "
        f"would come past with nobody in the way, {whole(made)} do."
    )


def _band_words(band: Band) -> str:
    """The middle, and what eight races in ten brought; which part of that is chance."""
    said = f"{whole(band.middle)}; eight races in ten {whole_ends(band.low, band.high)}"
    if math.isfinite(band.chance_low):
        said += f", by chance alone {whole_ends(band.chance_low, band.chance_high)}"
    return said


def also_said(chapter: Chapter, figures: SheetFigures, apart: bool = False) -> tuple[Said, ...]:
    """Where the field is by then, and who is alone or among rivals up to the next place.

    apart: is the field told without ours, so that several squads are told of it once?
    """
    if chapter.mark.at_m == 0:
        return (Said(f"{RECALL}: {recall_words(figures.stand)}"),)
    said = list(field_said(chapter, apart)) if chapter.first_s and chapter.last_s else []
    if chapter.stretch:
        said += [Said(text) for text in near_said(chapter.stretch, figures)]
    return tuple(said)


def field_said(chapter: Chapter, apart: bool = False) -> tuple[Said, ...]:
    """When the first, ours and the last of the field come here; apart: ours in a sentence of their own."""
    assert chapter.first_s
    assert chapter.last_s
    first, last = chapter.first_s, chapter.last_s
    times = [band.middle for band in chapter.told.time_s if math.isfinite(band.middle)]
    ours = f"from {whole_clock(min(times))} to {whole_clock(max(times))}" if times else ""
    text = (
        f"The first of the field are here at {whole_clock(first.middle)}, "
        f"{f'ours {ours}, ' if ours and not apart else ''}the last at {whole_clock(last.middle)}."
    )
    more = f"Eight races in ten: the first {_clocks(first)}, the last {_clocks(last)}."
    return (Said(text, more), *([Said(f"Here {ours}.")] if ours and apart else []))


def _clocks(band: Band) -> str:
    if not math.isfinite(band.low):
        return DASH
    return f"{whole_clock(band.low)} to {whole_clock(band.high)}"


def ours_rows(chapter: Chapter, figures: SheetFigures) -> list[list[str]]:
    """A row for each of ours: what is to be made up, time and place, and who is near; its head first."""
    told, stand = chapter.told, figures.stand
    rows = [list(OURS_HEAD)]
    cells = mark_cells(told)
    for k, who in enumerate(stand.who):
        near = chapter.stretch.near[k] if chapter.stretch else None
        beside = near_cell(near, stand, figures.units) if near else (DASH, "", DASH)
        time, spread, place = cells[k]
        mate, far, rivals = beside
        unit = "yd" if figures.units == "us" else "m"
        rows.append(
            [
                f"{k + 1} {who.short}",
                _to_make_up(told, k),
                f"{time} ({spread})" if spread else time,
                place,
                f"{mate} {far} {unit}" if far else mate,
                rivals,
            ]
        )
    return _without_empty(rows)


def _without_empty(rows: list[list[str]]) -> list[list[str]]:
    """Columns that say nothing of anybody are left out; the name never."""
    kept = [
        c
        for c in range(len(rows[0]))
        if c == 0 or any(row[c] not in ("", DASH) for row in rows[1:])
    ]
    return [[row[c] for c in kept] for row in rows]


def _to_make_up(told: Told, k: int) -> str:
    """Is this runner where it is not held up, in the middle race? Else how many places are to be made up."""
    if told.free_place is None:
        return ""
    first, place = told.free_place.low, told.place[k].middle
    if not math.isfinite(place):
        return DASH
    late = round(place) - round(first)
    return f"first {whole(first)}" if late <= 0 else f"first {whole(first)}: {late} to make up"


def film_words(in_view: int, ours: int, from_s: float, seed: int) -> str:
    """What the five seconds show."""
    who = "all of ours" if in_view == ours else f"{in_view} of ours" if in_view else "none of ours"
    return f"One race (seed {seed}), from {whole_clock(from_s)}: {who} in view."


def map_words(chapter: Chapter, after: Chapter | None, units: str) -> str:
    """The map for who cannot see it."""
    to = f" to {inside_words(after, units)}" if after else ""
    turns = [f"{SIDES[bend.side].lower()} at {the_mark(bend.name)}" for bend in chapter.ahead.bends]
    how = f"; turns {', then '.join(turns)}" if turns else ""
    return f"Map: {inside_words(chapter, units)}{to}, the way ahead to the right{how}"


def course_words(figures: SheetFigures) -> str:
    """The map of the whole course for who cannot see it."""
    return f"Map of the course, {length_text(figures.day.strip.length_m, figures.units)}, with every place"


def shot_words(chapter: Chapter, units: str) -> tuple[str, str]:
    """What a photograph shows for who cannot see it, and the line below it."""
    place = chapter.place
    view = f", {VIEWS[place.view]}" if place and place.view else ""
    see = f": {place.see}" if place and place.see else ""
    title = title_words(chapter, units)
    return f"{title}{view}{see}", f"{title}{view}"


def clip_words(place: PlaceTable, shows: str) -> tuple[str, str]:
    """What a clip shows for who cannot see it, and where in the file it is."""
    begin, end = place.clip_from_s or 0.0, place.clip_to_s
    to = f" to {whole_clock(end)}" if end is not None else ""
    return f"Clip: {shows}", f"{place.clip}, {whole_clock(begin)}{to}"


def headline_of(figures: SheetFigures) -> str:
    """The plan in one sentence, as the sheet has it."""
    return sentence_of(figures)


def page_title(figures: SheetFigures) -> str:
    """Over the page."""
    return f"{figures.stand.team}: a walk through {figures.day.name}"


def about_of(squads: Sequence[SheetFigures], chapters: Sequence[Chapter]) -> str:
    """What it rests on; the other squads' plans."""
    invented = "Invented world. " if squads[0].day.invented else ""
    others = "".join(f"{each.stand.team}: {sentence_of(each)} " for each in squads[1:])
    return (
        f"{others}{invented}{len(chapters)} places from the line to the finish. What to do is what the "
        "sheet says; tap a sentence for the figure behind it."
    )


def to_go_title(one: ToGo, units: str) -> str:
    """So far to go, and where that is; by itself where nothing but the finish is near."""
    far = f"{to_go_words(one.far_m, units)} to go"
    told_by_finish = abs(one.mark.off_m + one.far_m) < 1.0
    return far if told_by_finish else f"{far}: {at_mark_words(one.mark, units)}"


def to_go_said(one: ToGo, figures: SheetFigures) -> Said:
    """What a kick wins from there, as of the answer about chasing; behind it, by plan."""
    if not one.kick:
        return Said(TOO_EARLY)
    more = (
        f"On average a runner of ours wins {_won(one.kick)} racing for places, {_won(one.plan)} holding the "
        f"plan to the line, in {figures.races} races."
    )
    return Said(kick_said(one.kick, figures.day.runners, figures.units), more)


def finish_said(to_go: Sequence[ToGo], figures: SheetFigures) -> tuple[Said, ...]:
    """What is still won on the last metres."""
    return tuple(to_go_said(one, figures) for one in to_go[-1:] if one.kick)


def _won(row: dict[str, Any]) -> str:
    """So many places on average, with the 95 % range where there is one."""
    low, high = row["our_places_low"], row["our_places_high"]
    known = math.isfinite(low) and math.isfinite(high)
    return tenths(row["our_places"], "+") + (f" ({ends(low, high)})" if known else "")


def kick_notes(figures: SheetFigures) -> tuple[str, ...]:
    """How what a kick wins is read."""
    switched = RACING_ON if figures.day.field.racing == "off" else ""
    return tuple(part for part in (switched, CANNOT_SAY) if part)


def reading_of(figures: SheetFigures) -> tuple[str, ...]:
    """How the page is read, and what it leaves out."""
    near = length_text(NEAR_M, figures.units) if figures.units == "us" else f"{NEAR_M:.0f} m"
    read = (
        f"Times and places: the middle one of {figures.races} simulated races, and what eight of ten "
        f"brought. Near is within {near} along the course. Faster runners: they would come past with nobody "
        "in the way. The five seconds show one race; another one is different."
    )
    return (read, *foot_of(figures)[1:])


def text_of(figures: SheetFigures, chapters: Sequence[Chapter], to_go: Sequence[ToGo]) -> str:
    """What a terminal shows: the sentence, and every chapter with what to do."""
    lines = [headline_of(figures), ""]
    for number, chapter in enumerate(chapters, start=1):
        own = chapter.place.note if chapter.place else ""
        said = do_said(chapter, figures) or finish_said(to_go, figures)
        does = own or " ".join(one.text for one in said)
        lines.append(f"  {number:>2}  {title_words(chapter, figures.units)}. {does}")
    return "\n".join(lines)
