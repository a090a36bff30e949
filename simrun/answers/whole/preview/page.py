"""The page of a walk: every chapter from what the sheet found, the coach's pictures and one recorded race."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from simrun.answers.sheet.sheet_records import SheetFigures
from simrun.answers.sheet.words import PARENTS, seen_of
from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.heart_words import questions_of
from simrun.answers.whole.preview.lap_words import laps_part
from simrun.answers.whole.preview.to_go import ToGo
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
from simrun.pages.page import Part, table_of
from simrun.pages.walk import Chapter as Shown
from simrun.pages.walk import Film, Shot, View, Walk
from simrun.pictures.replay.replay_page import SCRIPTS, WEB
from simrun.pictures.walk.five_seconds import five_seconds
from simrun.pictures.walk.place_map import PlaceMap, place_map
from simrun.pictures.walk.ride_ground import ride_ground
from simrun.state.recording import Recording

PHOTO, CLIP = "photo", "clip"
Pictures = Mapping[tuple[int, str], bytes]
"""JPEGs by the number of the chapter, and whether it is a photo or a still of a clip."""


def walk_of(
    figures: SheetFigures,
    chapters: Sequence[Chapter],
    recording: Recording,
    pictures: Pictures,
    to_go: Sequence[ToGo] = (),
) -> Walk:
    """Everything of one squad."""
    line = shortest_line(figures.day.strip)
    shown = tuple(
        _shown(figures, chapters, number, (recording, line), pictures, to_go)
        for number in range(len(chapters))
    )
    return Walk(
        title=page_title(figures),
        sentence=headline_of(figures),
        about=about_of(figures, chapters),
        chapters=shown,
        to_go=tuple(_view(one, figures) for one in to_go),
        to_go_notes=kick_notes(figures),
        after=tuple(_after(figures, chapters)),
        quiz=questions_of(chapters, figures.day.strip.length_m, figures.units),
        notes=reading_of(figures),
        map=_whole_map(figures, chapters, line),
        map_alt=course_words(figures),
        ground=ride_ground(figures.day.strip, line),
        scripts=(drawing_script(),),
    )


def _view(one: ToGo, figures: SheetFigures) -> View:
    said = to_go_said(one, figures)
    return View(to_go_title(one, figures.units), said, one.mark.at_m)


def _after(figures: SheetFigures, chapters: Sequence[Chapter]) -> Iterator[Part]:
    """The same place each lap where something changes; where parents stand."""
    if laps := laps_part(chapters, figures):
        yield laps
    if figures.seen:
        yield Part(PARENTS, seen_of(figures))


def drawing_script() -> str:
    """The replay page's own drawing, for the walk: its names stay its own."""
    parts = [
        (WEB / name).read_text("utf-8") for name in SCRIPTS if name not in ("main.js", "hands.js")
    ]
    wanted = "{ wholeNumbers, Race, Ground, EyeView }"
    return f"const {wanted} = (() => {{\n{''.join(parts)}\nreturn {wanted};\n}})();"


def _shown(
    figures: SheetFigures,
    chapters: Sequence[Chapter],
    number: int,
    drawn: tuple[Recording, Line],
    pictures: Pictures,
    to_go: Sequence[ToGo],
) -> Shown:
    chapter, units = chapters[number], figures.units
    after = chapters[number + 1] if number + 1 < len(chapters) else None
    ground = _map(figures, chapters, number, drawn[1])
    rows = ours_rows(chapter, figures) if chapter.told.place else []
    place = chapter.place
    return Shown(
        title=title_words(chapter, units),
        where=where_words(chapter, after, figures),
        see=see_words(chapter, units),
        do=do_said(chapter, figures) if after else finish_said(to_go, figures),
        also=also_said(chapter, figures),
        own=place.note if place else "",
        map=ground,
        map_alt=map_words(chapter, after, units),
        ours=table_of(rows, left=2) if rows else None,
        shots=tuple(_shots(chapter, number, pictures, units)),
        film=_film(chapter, drawn[0], figures, ground),
        coach=place.coach if place else "",
        eye_m=(chapter.mark.at_m, chapter.to_m) if after else None,
    )


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


def _shots(chapter: Chapter, number: int, pictures: Pictures, units: str):  # type: ignore[no-untyped-def]
    alt, caption = shot_words(chapter, units)
    if (number, PHOTO) in pictures:
        yield Shot(pictures[number, PHOTO], alt, caption)
    if (number, CLIP) in pictures:
        yield Shot(pictures[number, CLIP], alt, clip_words(chapter))
