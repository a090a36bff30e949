"""From what a watch recorded to a scenario of straights, turns and laps, with a question wherever it
cannot know."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from simrun.answers.course.questions import (
    BOX,
    BOXES,
    COURSE,
    LINE,
    NARROWED,
    ROW,
    STRETCH,
    WIDE,
    Question,
    Told,
)
from simrun.answers.course.words import (
    TO_FILL_IN,
    WATCH_HEAD,
    asked_of_start,
    asked_of_stretch,
    of_watch,
)
from simrun.answers.papers import Papers, people_tables
from simrun.base.decoding import decoded
from simrun.base.errors import BadInput, Problem
from simrun.base.units import METRES_A_FOOT, METRES_A_YARD
from simrun.base.written_tables import table_text
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.tracks.track_drawing import MARK_EVERY_M
from simrun.course.tracks.track_lines import Part, Tracks
from simrun.course.walked.track_climb import Profile, profile_of
from simrun.course.walked.track_course import WatchCourse, course_of
from simrun.course.walked.track_pieces import (
    Pieces,
    Widths,
    pieces_of,
    stretches_of,
    tightest_m,
)
from simrun.course.walked.track_walk import Walk, walk_of
from simrun.scenario.reader import read_parts
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.values import same_name

ASSUMED_M = {
    "metric": {LINE: 40.0, COURSE: 6.0, BOX: 2.0},
    "us": {LINE: 45 * METRES_A_YARD, COURSE: 20 * METRES_A_FOOT, BOX: 6 * METRES_A_FOOT},
}
FRONT_ROW = 2
"""What is assumed until somebody measures it: the line, the course, a box, and who stands side by side in
it."""

SLOWEST_M_S = 2.0
NEAR_M = 40.0
"""A named place of the file so near to the course is a landmark of it."""


@dataclass(frozen=True)
class Watched:
    """What was made of a recording: the text of the scenario, the questions, and what was done."""

    text: str
    questions: tuple[Question, ...]
    told: tuple[str, ...]
    run_m: float


@dataclass(frozen=True)
class _Made:
    """A course with its widths, and where it lies."""

    course: WatchCourse
    profile: Profile
    pieces: Pieces
    widths: Widths
    frame: Frame


def watched(
    seen: tuple[Part, tuple[float, float | None]],
    tracks: Tracks,
    told: Told,
    papers: Papers,
    how: Mapping[str, str],
) -> Watched:
    """The scenario of what was recorded. seen: the line, and which metres of it. how: the scenario's
    name, where it comes from, its units, and the file of the questions. Raises BadInput.

    Check: tests/journeys/test_watch_tracks.py.
    """
    part, span_m = seen
    frame = Frame(float(part.degree[0, 0]), float(part.degree[0, 1]))
    walk = walk_of(frame.to_local_m(part.degree), part.height_m, part.time_s, span_m)
    made = _made(walk, told, papers, (frame, how["units"]))
    questions = tuple(_questions(made, told, how["units"]))
    ground = _ground(made, told, papers, how)
    return Watched(
        _whole(ground, made, papers, tracks, how["units"]),
        questions,
        tuple(of_watch(made.course, made.profile, walk.still, how["units"])),
        made.course.length_m,
    )


def _made(walk: Walk, told: Told, papers: Papers, where: tuple[Frame, str]) -> _Made:
    frame, units = where
    assumed = ASSUMED_M[units]
    box_m = told.value(BOX, assumed[BOX])
    line = told.value(LINE, max(assumed[LINE], papers.highest_box * box_m))
    course = course_of(walk)
    known = told.is_known(WIDE), told.is_known(NARROWED)
    widths = Widths(
        line,
        told.value(COURSE, min(assumed[COURSE], line)),
        told.value(WIDE, 0.0) if known[0] else None,
        told.value(NARROWED, 0.0) if known[1] else None,
        told.stretches,
    )
    _check_stretches(course, told)
    tighter = tightest_m(course, widths)
    if tighter:
        course = course_of(walk, tighter)
    profile = profile_of(course, walk.height_m)
    return _Made(course, profile, pieces_of(course, profile, widths), widths, frame)


def _check_stretches(course: WatchCourse, told: Told) -> None:
    known = [stretch.number for stretch in stretches_of(course)]
    for number in told.stretches:
        if number not in known:
            found, allowed = f"stretch {number}", f"stretches 1 to {max(known)}"
            raise BadInput(Problem("answers", found, allowed))


def _questions(made: _Made, told: Told, units: str) -> list[Question]:
    """The start first, then every stretch; each with its place."""

    def shown(metres: float) -> str:
        return length_words(metres, units, 1)

    start = _degree(made, made.course.chain.points_at(np.array([0.0]))[0])
    rows = []
    for ask, question, assumed, count in asked_of_start(
        _assumed(made, told, units), (made.pieces.wide_m, made.pieces.narrowed_m), shown
    ):
        answer = told.words(ask, (lambda value: str(int(value))) if count else shown)
        rows.append(Question(ask, question, shown(0.0), start, assumed, answer))
    for stretch in made.pieces.stretches:
        ask = f"{STRETCH}{stretch.number}"
        place = (
            f"{length_words(stretch.from_m, units, 0)} to {length_words(stretch.to_m, units, 0)}"
        )
        question = asked_of_stretch(stretch)
        width = shown(made.widths.of(stretch.number))
        degree = _degree(made, np.array(stretch.middle_m))
        rows.append(Question(ask, question, place, degree, width, told.words(ask, shown)))
    return rows


def _degree(made: _Made, point: Any) -> tuple[float, float]:
    longitude, latitude = made.frame.to_degree(np.array([point]))[0]
    return float(longitude), float(latitude)


def _assumed(made: _Made, told: Told, units: str) -> dict[str, float]:
    """The line and its boxes as they stand in the scenario."""
    line = made.widths.line_m
    box = min(told.value(BOX, ASSUMED_M[units][BOX]), line)
    boxes = told.value(BOXES, max(1, min(100, int((line + 1e-6) / box))))
    return {
        LINE: line,
        COURSE: made.widths.course_m,
        BOX: box,
        BOXES: boxes,
        ROW: told.value(ROW, FRONT_ROW),
    }


def length_words(metres: float, units: str, decimals: int = 2) -> str:
    """A length as it stands in a scenario or beside a question."""
    if units != "us":
        return f"{round(metres, decimals):g} m"
    if metres < 30 * METRES_A_FOOT:
        return f"{round(metres / METRES_A_FOOT, decimals):g} ft"
    return f"{round(metres / METRES_A_YARD, decimals):g} yd"


def _whole(ground: str, made: _Made, papers: Papers, tracks: Tracks, units: str) -> str:
    """The scenario with its checkpoints and landmarks: where they lie is known once the course is laid."""
    people = people_tables(papers, remark=TO_FILL_IN)
    lists = {name: decoded(data) for name, data in papers.files.items()}
    day = read_parts("\n".join([ground, *people]), lists, "track")
    marks = [table_text(*row) for row in _marks(day, made, tracks, units)]
    return "\n".join([ground, *marks, *people])


def _ground(made: _Made, told: Told, papers: Papers, how: Mapping[str, str]) -> str:
    units = how["units"]
    assumed = _assumed(made, told, units)

    def long(metres: float) -> str:
        # Rounded down: boxes that fill a line to the last inch would not fit one that is rounded.
        return length_words(metres, units)

    limit = min(120, max(2, round(made.course.length_m / SLOWEST_M_S / 60)))
    asked = {"width": LINE, "boxes": BOXES, "box_width": BOX, "front_row": ROW}
    start = {
        "width": long(assumed[LINE]),
        "boxes": int(assumed[BOXES]),
        "box_width": long(assumed[BOX]),
        "front_row": int(assumed[ROW]),
        **papers.start,
    }
    remarks = {key: TO_FILL_IN for key, ask in asked.items() if not told.is_known(ask)}
    head = {"name": how["name"], "invented": False, "units": units}
    parts = [
        WATCH_HEAD.format(source=how["source"], questions=how["questions"], mark=TO_FILL_IN),
        table_text("", head),
        table_text("[clock]", {"limit": f"{limit} min"}),
        table_text("[start]", start, remarks),
        "[course]\n",
        *_course_tables(made, long),
    ]
    return "\n".join(parts)


def _course_tables(made: _Made, long: Any) -> list[str]:
    lengths = ("length", "width", "inside_radius", "climb")
    rows = [
        {key: _written(key, value, long) if key in lengths else value for key, value in row.items()}
        for row in made.pieces.tables
    ]
    parts = [table_text("[[course.pieces]]", row) for row in rows]
    if made.pieces.laps:
        parts.insert(0, table_text("[course.laps]", made.pieces.laps))
    return parts


def _written(key: str, value: float, long: Any) -> str | float:
    return round(value, 1) if key == "climb" else long(value)


def _marks(
    day: Scenario, made: _Made, tracks: Tracks, units: str
) -> list[tuple[str, dict[str, Any]]]:
    """Where the start has come down, every km or mile and the finish; and the named places near the
    course.

    All by the measured line, which only a course that is laid out has.
    """
    strip = day.strip
    every, word = MARK_EVERY_M[units]
    length = strip.length_m
    marks = [("first narrowing", made.pieces.narrowed_m)]
    marks += [(f"{k} {word}", k * every) for k in range(1, int((length - 50) // every) + 1)]
    marks = [mark for mark in marks if mark[1] < length - 1] + [("finish", length)]
    rows = [("[[course.checkpoints]]", {"name": name, "at": round(at, 1)}) for name, at in marks]
    rows[-1][1]["at"] = int(length * 10) / 10
    known = {same_name(name) for name, _ in marks}
    for name, at in _landmarks(day, made, tracks):
        if same_name(name) not in known:
            known.add(same_name(name))
            rows.append(("[[course.landmarks]]", {"name": name, "at": round(at, 1)}))
    return rows


def _landmarks(day: Scenario, made: _Made, tracks: Tracks) -> Iterator[tuple[str, float]]:
    """Named places near the course, where it is nearest to them first."""
    strip = day.strip
    here = slice(int(np.abs(strip.station_m).argmin()), strip.finish_cut + 1)
    station = strip.station_m[here]
    even = np.arange(0.0, strip.length_m, 1.0)
    middle = np.stack(
        [np.interp(even, station, strip.middle_m[here, axis]) for axis in (0, 1)], axis=1
    )
    x, y, heading = made.course.chain.poses[0].value
    cosine, sine = np.cos(heading), np.sin(heading)
    for name, at in tracks.places:
        away = made.frame.to_local_m(np.array([at]))[0] - [x, y]
        point = np.array([cosine * away[0] + sine * away[1], cosine * away[1] - sine * away[0]])
        apart = np.hypot(*(middle - point).T)
        if apart.min() < NEAR_M:
            yield name, max(0.1, float(even[apart.argmin()]))
