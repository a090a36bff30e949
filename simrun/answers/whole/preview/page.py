"""The page of a walk: every chapter from what the sheet found, the coach's pictures and one recorded race."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from simrun.answers.sheet.sheet_records import SheetFigures
from simrun.answers.whole.preview.beside_words import parents_part, sides_said
from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.heart_words import questions_of
from simrun.answers.whole.preview.lap_words import laps_part
from simrun.answers.whole.preview.looked_at import CLIP, PHOTO, Pictures
from simrun.answers.whole.preview.squads import Row, Squad, shared, side_by_side, told_apart
from simrun.answers.whole.preview.words import (
    about_of,
    also_said,
    clip_words,
    course_words,
    do_said,
    film_words,
    finish_said,
    headline_of,
    kick_notes,
    map_words,
    ours_rows,
    page_title,
    reading_of,
    see_words,
    shot_words,
    title_words,
    to_go_said,
    to_go_title,
    where_words,
)
from simrun.course.route import Line, shortest_line
from simrun.pages.page import Part, Table, table_of
from simrun.pages.walk import Film, Said, Shot, Slide, View, Walk
from simrun.pictures.replay.replay_page import SCRIPTS, WEB
from simrun.pictures.walk.five_seconds import five_seconds
from simrun.pictures.walk.place_map import PlaceMap, place_map
from simrun.pictures.walk.ride_ground import ride_ground
from simrun.state.recording import Recording


def walk_of(squads: Sequence[Squad], recording: Recording, pictures: Pictures) -> Walk:
    """Everything, the first squad's race and map; what differs between squads is said with whose it is."""
    first, rows = squads[0], side_by_side(squads)
    figures = first.figures
    line, chapters = shortest_line(figures.day.strip), [shared(row) for row in rows]
    return Walk(
        title=page_title(figures),
        sentence=headline_of(figures),
        about=about_of([squad.figures for squad in squads], chapters),
        chapters=tuple(
            _shown(squads, rows, number, (recording, line), pictures) for number in range(len(rows))
        ),
        to_go=tuple(_views(squads)),
        to_go_notes=kick_notes(figures),
        after=tuple(_after(squads, rows)),
        quiz=questions_of(chapters, figures.day.strip.length_m, figures.units),
        notes=reading_of(figures),
        map=_whole_map(figures, chapters, line),
        map_alt=course_words(figures),
        ground=ride_ground(figures.day.strip, line),
        scripts=(drawing_script(),),
    )


def _views(squads: Sequence[Squad]) -> Iterator[View]:
    """The view from every place that is so far from the finish, and what each squad wins from there."""
    for same in zip(*(squad.to_go for squad in squads), strict=True):
        told = [(to_go_said(one, squad.figures),) for one, squad in zip(same, squads, strict=True)]
        title = to_go_title(same[0], squads[0].figures.units)
        yield View(title, told_apart(squads, told), same[0].mark.at_m)


def _after(squads: Sequence[Squad], rows: Sequence[Row]) -> Iterator[Part]:
    """The same place each lap where something changes; where parents and coaches see them and cross."""
    for squad in squads:
        whose = f"{squad.team}: " if len(squads) > 1 else ""
        if laps := laps_part(squad.chapters, squad.figures):
            yield replace(laps, title=f"{whose}{laps.title}")
    yield parents_part(squads, rows)


def drawing_script() -> str:
    """The replay page's own drawing, for the walk: its names stay its own."""
    parts = [
        (WEB / name).read_text("utf-8") for name in SCRIPTS if name not in ("main.js", "hands.js")
    ]
    wanted = "{ wholeNumbers, Race, Ground, EyeView }"
    return f"const {wanted} = (() => {{\n{''.join(parts)}\nreturn {wanted};\n}})();"


def _shown(
    squads: Sequence[Squad],
    rows: Sequence[Row],
    number: int,
    drawn: tuple[Recording, Line],
    pictures: Pictures,
) -> Slide:
    figures, row = squads[0].figures, rows[number]
    chapters, units = [shared(each) for each in rows], figures.units
    chapter, place = chapters[number], chapters[number].place
    after = chapters[number + 1] if number + 1 < len(chapters) else None
    ground = _map(figures, chapters, number, drawn[1])
    here = [(squad, own) for squad, own in zip(squads, row, strict=True) if own is not None]
    who = [squad for squad, _ in here]
    do = [
        do_said(own, squad.figures) if after else finish_said(squad.to_go, squad.figures)
        for squad, own in here
    ]
    return Slide(
        title=title_words(chapter, units),
        where=" ".join(_where(here, after)),
        see=see_words(chapter, units),
        do=told_apart(who, do),
        also=told_apart(who, [_also(own, squad, len(squads) > 1) for squad, own in here]),
        own=place.note if place else "",
        map=ground,
        map_alt=map_words(chapter, after, units),
        ours=tuple(_tables(squads, here)),
        shots=tuple(_shots(chapter, pictures, units)),
        film=_film(chapter, drawn[0], figures, ground),
        coach=place.coach if place else "",
        eye_m=(chapter.mark.at_m, chapter.to_m) if after else None,
    )


def _also(chapter: Chapter, squad: Squad, apart: bool) -> tuple[Said, ...]:
    """Where the field is by then, who is near whom, who walks on which side and who still gets over."""
    there, figures = squad.sides[chapter.mark.at_m], squad.figures
    return (*also_said(chapter, figures, apart), *sides_said(there, figures.races, figures.units))


def _where(here: Sequence[tuple[Squad, Chapter]], after: Chapter | None) -> tuple[str, ...]:
    """Where it is, once; on the line each squad has a box of its own."""
    told = [(Said(where_words(own, after, squad.figures)),) for squad, own in here]
    at_gun = here[0][1].mark.at_m == 0
    kept = told_apart([squad for squad, _ in here], told) if at_gun else told[0]
    return tuple(said.text for said in kept)


def _tables(squads: Sequence[Squad], here: Sequence[tuple[Squad, Chapter]]) -> Iterator[Table]:
    for squad, own in here:
        if own.told.place:
            whose = squad.team if len(squads) > 1 else ""
            yield table_of(ours_rows(own, squad.figures), whose, left=2)


def _map(figures: SheetFigures, chapters: Sequence[Chapter], number: int, line: Line) -> PlaceMap:
    """The ground of one chapter with the names of this place, the next, and the turns between."""
    chapter, strip, units = chapters[number], figures.day.strip, figures.units
    named = [(title_words(each, units), each.mark.at_m) for each in chapters[number : number + 2]]
    known = {text.casefold() for text, _ in named}
    for gate in strip.gates:
        at_m = float(strip.station_m[[gate.first_cut, gate.last_cut]].mean())
        if chapter.from_m <= at_m <= chapter.to_m and gate.name.casefold() not in known:
            named.append((gate.name, at_m))
    return place_map(strip, line, (chapter.from_m, chapter.to_m), named)


def _whole_map(figures: SheetFigures, chapters: Sequence[Chapter], line: Line) -> PlaceMap:
    """The whole course with the numbers of the chapters."""
    named = [(str(k), chapter.mark.at_m) for k, chapter in enumerate(chapters, start=1)]
    return place_map(figures.day.strip, line, (0.0, figures.day.strip.length_m), named)


def _film(
    chapter: Chapter, recording: Recording, figures: SheetFigures, ground: PlaceMap
) -> Film | None:
    """Five seconds around the moment when the middle one of ours is where the chapter is about."""
    ours = our_rows(recording, figures)
    found = five_seconds(recording, ours, ground, comes_s(recording, ours, chapter.focus_m))
    if found is None:
        return None
    words = film_words(found.in_view, len(ours), found.from_s, recording.seed)
    return Film(found.data, words)


def our_rows(recording: Recording, figures: SheetFigures) -> NDArray[np.int64]:
    """The rows of the squad in a recording, in the order in which the sheet numbers them."""
    names = list(recording.roster.name)
    return np.array([names.index(who.name) for who in figures.stand.who])


def comes_s(recording: Recording, ours: NDArray[np.int64], at_m: float) -> float:
    """When does the middle one of these come to a place? Between two timed marks at even pace."""
    stations = np.array([0.0, *(mark.station_m for mark in recording.strip.checkpoints)])
    times = np.column_stack([np.zeros(len(ours)), recording.crossing_s[ours]])
    found = [np.interp(at_m, stations, row) for row in times if np.isfinite(row).all()]
    return float(np.median(found)) if found else 0.0


def _shots(chapter: Chapter, pictures: Pictures, units: str) -> Iterator[Shot]:
    if chapter.place is None:
        return
    photo = shot_words(chapter, units)
    for kind, (alt, caption) in ((PHOTO, photo), (CLIP, clip_words(chapter.place, photo[0]))):
        if (chapter.place.at, kind) in pictures:
            yield replace(pictures[chapter.place.at, kind], alt=alt, caption=caption)
