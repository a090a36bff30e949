"""From a recorded or drawn line to a scenario that can be raced at once, with its gaps marked."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from simrun.answers.course.drawn_course import ASSUMED_WIDTH_M, drawn_text
from simrun.answers.course.questions import COURSE, Told, questions_text
from simrun.answers.course.watched import Watched, watched
from simrun.answers.course.words import ANEW
from simrun.answers.papers import Papers, refuse_overwriting, write_day
from simrun.base.errors import BadInput, Problem
from simrun.course.drawing.drawn_frame import Frame
from simrun.course.tracks.track_drawing import TrackDrawing, drawing_of
from simrun.course.tracks.track_file import read_tracks
from simrun.course.tracks.track_lines import Part, Tracks, plain_name
from simrun.course.tracks.track_tidy import along_m, check_gaps, chosen_part, trail_of
from simrun.scenario.named_files import LARGEST_ATTACHMENT_BYTES, file_words, read_bytes
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema import NARROWEST_M, WIDEST_M

NOBODY = Papers({}, {}, {}, "Our team")
UNKNOWN = Told({}, {})
MARK_SIGNS = 12
DRAWN_PACE_M_S = 4.0
"""Somebody passes a drawn line so fast, so that it can be read as a recorded one is."""


@dataclass(frozen=True)
class NewCourse:
    """The scenario that was written, its files, what was dropped, smoothed and assumed.

    questions: how many are open; run_m: how long a recorded course is along its middle, 0 for a drawn
    one.
    """

    scenario: Scenario
    files: tuple[Path, ...]
    told: tuple[str, ...]
    questions: int = 0
    run_m: float = 0.0


@dataclass(frozen=True)
class AskedCourse:
    """What is asked of a track: one width, the units, which part and which metres of it, what is known,
    who runs.

    anew: may a scenario that nobody changed by hand be made again?
    """

    width_m: float | None = None
    units: str = "metric"
    part: str = ""
    span_m: tuple[float, float | None] = (0.0, None)
    told: Told = UNKNOWN
    papers: Papers = NOBODY
    anew: bool = False


def new_course(source: str | Path, folder: Path, asked: AskedCourse) -> NewCourse:
    """Write a scenario for this track with all it names, and read it as any scenario is.

    Nothing that exists is overwritten: a completed scenario is somebody's work. Only one that nobody has
    touched is made anew with answers. Raises BadInput, also where the line cannot be run, before anything
    is written; CannotWrite. Check: tests/journeys/test_course_and_card.py,
    tests/journeys/test_from_a_watch.py.
    """
    path = Path(source)
    width = asked.width_m
    if width is not None and not NARROWEST_M <= width <= WIDEST_M:
        allowed = f"{NARROWEST_M:g} to {WIDEST_M:g} m"
        raise BadInput(Problem("--width", f"{width:g} m", allowed))
    stem = plain_name(path.stem).replace("\\", "-") or "course"
    try:
        data = read_bytes(path, LARGEST_ATTACHMENT_BYTES)
        files, found = _files(data, stem, path, asked)
    except BadInput as wrong:
        raise wrong.in_file(file_words(path)) from None
    files |= asked.papers.files
    _refuse_overwriting(folder, files, path, asked)
    day, written = write_day(folder, files, f"{stem}.toml")
    return NewCourse(day, tuple(written), *found)


Found = tuple[tuple[str, ...], int, float]
"""What was done, how many questions are open, and how long a recorded course is."""


def _files(
    data: bytes, stem: str, path: Path, asked: AskedCourse
) -> tuple[dict[str, bytes], Found]:
    """Every file of the new scenario by its name, and what was found."""
    tracks = read_tracks(data)
    if tracks.is_drawing:
        kept = TrackDrawing(data.decode("utf-8-sig"), 0.0, ("a drawing with both edges: kept",))
        return _drawn(kept, stem, path, asked)
    part = chosen_part(tracks.parts, asked.part)
    if np.isfinite(part.time_s).all():
        check_gaps(_frame(part).to_local_m(part.degree), part.time_s)
        return _watched(part, tracks, stem, path, asked)
    try:
        width = asked.width_m or ASSUMED_WIDTH_M
        drawing = drawing_of(trail_of(tracks, asked.part, asked.span_m), tracks, width, asked.units)
    except BadInput as crossing:
        # A drawing has no laps: a line that passes over its own ground is read as one that was run.
        with suppress(BadInput):
            if any("one lap" in problem.allowed for problem in crossing.problems):
                return _watched(_as_if_run(part), tracks, stem, path, asked)
        raise
    return _drawn(drawing, stem, path, asked)


def _frame(part: Part) -> Frame:
    return Frame(float(part.degree[0, 0]), float(part.degree[0, 1]))


def _as_if_run(part: Part) -> Part:
    along = along_m(_frame(part).to_local_m(part.degree))
    moved = np.append(True, np.diff(along) > 1e-6)
    return Part(part.name, part.degree[moved], part.height_m[moved], along[moved] / DRAWN_PACE_M_S)


def _drawn(
    drawing: TrackDrawing, stem: str, path: Path, asked: AskedCourse
) -> tuple[dict[str, bytes], Found]:
    _refuse_unused(asked.told)
    how = (asked.width_m, asked.units)
    text = drawn_text(path, drawing, f"{stem}.geojson", how, asked.papers)
    files = {f"{stem}.geojson": drawing.text.encode(), f"{stem}.toml": text.encode()}
    if path.name == f"{stem}.geojson" and drawing.length_m == 0:
        files[path.name] = path.read_bytes()
    return files, (drawing.told, 0, 0.0)


def _refuse_unused(told: Told) -> None:
    """Of a drawn line only one width is asked; what else is known of its start stands in the scenario."""
    unused = [ask for ask, value in told.options.items() if value is not None and ask != COURSE]
    for ask in [*unused, *told.answers]:
        allowed = (
            "only for a recorded track, with times; write it in the scenario that is made without"
        )
        raise BadInput(Problem(ask, "told for a drawn line", allowed))


def _watched(
    part: Part, tracks: Tracks, stem: str, path: Path, asked: AskedCourse
) -> tuple[dict[str, bytes], Found]:
    found = _seen(part, tracks, stem, path, asked)
    text = _marked(found.text)
    files = {f"{stem}.toml": text.encode(), f"{stem}_questions.csv": _questions(found)}
    unanswered = sum(not question.answer for question in found.questions)
    return files, (found.told, unanswered, found.run_m)


def _seen(part: Part, tracks: Tracks, stem: str, path: Path, asked: AskedCourse) -> Watched:
    how = {
        "name": plain_name(path.stem) or "course",
        "source": plain_name(path.name),
        "units": asked.units,
        "questions": f"{stem}_questions.csv",
    }
    return watched((part, asked.span_m), tracks, asked.told, asked.papers, how)


def _questions(found: Watched) -> bytes:
    return questions_text(found.questions).encode()


def _marked(text: str) -> str:
    """The text under a line that tells whether somebody has changed it since."""
    return ANEW.format(mark=_mark(text)) + "\n" + text


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:MARK_SIGNS]


def _is_untouched(target: Path) -> bool:
    """Is it as it was made?"""
    try:
        head, _, rest = target.read_text("utf-8").partition("\n")
    except (OSError, UnicodeDecodeError):
        return False
    return head == ANEW.format(mark=_mark(rest))


def _refuse_overwriting(
    folder: Path, files: Mapping[str, bytes], source: Path, asked: AskedCourse
) -> None:
    remade = next(name for name in files if name.endswith(".toml"))
    untouched = asked.anew and _is_untouched(folder / remade)
    refuse_overwriting(folder, asked.papers)
    for name in sorted(files.keys() - asked.papers.files.keys(), key=lambda name: name != remade):
        target = folder / name
        if not target.exists() or target.resolve() == source.resolve():
            continue
        if untouched and (name == remade or name.endswith("_questions.csv")):
            continue
        found = "exists already"
        allowed = "another folder with --out, or move it away: nothing is overwritten"
        if asked.anew and name == remade:
            found, allowed = "was changed by hand", allowed.replace("nothing", "no such file")
        raise BadInput(Problem("file", found, allowed, file=file_words(target)))
