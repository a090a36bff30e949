"""From a recorded or drawn line to a scenario that can be raced at once, with its gaps marked."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from simrun.base.errors import BadInput, Problem
from simrun.base.units import METRES_A_FOOT
from simrun.base.writing import write_text
from simrun.course.tracks.track_drawing import TrackDrawing, drawing_of
from simrun.course.tracks.track_file import plain_name, read_tracks
from simrun.course.tracks.track_tidy import trail_of
from simrun.scenario.named_files import LARGEST_ATTACHMENT_BYTES, file_words, read_bytes
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.scenario.tables.schema import NARROWEST_M, WIDEST_M

ASSUMED_WIDTH_M = 6.0
"""How wide the course is until somebody measures it (assumed)."""

BOX_M = 2.0
SLOWEST_M_S = 2.0

TO_FILL_IN = "<-- assumed, measure it and fill it in"

HEAD = """# Read from {source}. To be completed: every line marked {mark!r}.
# A watch or a map cannot measure widths. Walk the course with a tape and ask: how wide is the start,
# where does it come down, how wide are the gates, the paths and the turns?
{told}
name = {name}
invented = false
units = "{units}"

[clock]
limit = "{minutes} min"

[start]
width = {width}  # {mark}
boxes = {boxes}  # {mark}
box_width = {box}  # {mark}
front_row = 2  # {mark}

[course]
drawn = {drawn}
"""

WIDTHS = """
# The width at this many metres from the start, along the middle; even between two of them.
# A start 60 m wide that comes down to 6 m between 200 and 250 m is three tables: 0, 200 and 250.
"""

WIDTH = """
[[course.widths]]
at = {at}
width = {width}  # {mark}
"""

FIELD = """
[field]
ability = "boys varsity 5 km"  # {mark}
fill = true

[[teams]]
name = "Our team"
box = 1
ours = true
"""


@dataclass(frozen=True)
class NewCourse:
    """The scenario that was written, its files, and what was dropped, smoothed and assumed."""

    scenario: Scenario
    files: tuple[Path, ...]
    told: tuple[str, ...]


def new_course(
    source: str | Path,
    folder: Path,
    *,
    width_m: float | None = None,
    units: str = "metric",
    part: str = "",
    span_m: tuple[float, float | None] = (0.0, None),
) -> NewCourse:
    """Write NAME.toml and NAME.geojson for this track, and read them again as any scenario is.

    Nothing that exists is overwritten: a completed scenario is somebody's work. Raises BadInput, also
    where the line cannot be run, before anything is written; CannotWrite.
    Check: tests/journeys/test_course.py.
    """
    if width_m is not None and not NARROWEST_M <= width_m <= WIDEST_M:
        allowed = f"{NARROWEST_M:g} to {WIDEST_M:g} m"
        raise BadInput(Problem("--width", f"{width_m:g} m", allowed))
    path = Path(source)
    stem = plain_name(path.stem).replace("\\", "-") or "course"
    target, drawn = folder / f"{stem}.toml", folder / f"{stem}.geojson"
    _refuse_overwriting((target, drawn), path)
    try:
        drawing = _drawing(path, width_m or ASSUMED_WIDTH_M, units, part, span_m)
    except BadInput as wrong:
        raise wrong.in_file(file_words(path)) from None
    written = []
    if drawn.resolve() != path.resolve():
        written.append(write_text(drawn, drawing.text))
    text = _scenario_text(path, drawing, drawn.name, (width_m, units))
    written.append(write_text(target, text))
    try:
        return NewCourse(read(target), tuple(written), drawing.told)
    except BadInput:
        for file in written:
            file.unlink(missing_ok=True)
        raise


def _refuse_overwriting(targets: tuple[Path, ...], source: Path) -> None:
    for target in targets:
        if target.exists() and target.resolve() != source.resolve():
            allowed = "another folder with --out, or move it away: nothing is overwritten"
            raise BadInput(Problem("file", "exists already", allowed, file=file_words(target)))


def _drawing(
    path: Path, width_m: float, units: str, part: str, span_m: tuple[float, float | None]
) -> TrackDrawing:
    data = read_bytes(path, LARGEST_ATTACHMENT_BYTES)
    tracks = read_tracks(data)
    if tracks.is_drawing:
        return TrackDrawing(data.decode("utf-8-sig"), 0.0, ("a drawing with both edges: kept",))
    return drawing_of(trail_of(tracks, part, span_m), tracks, width_m, units)


def _scenario_text(
    path: Path, drawing: TrackDrawing, drawn: str, asked: tuple[float | None, str]
) -> str:
    from simrun.course.drawing.drawn import read_drawing
    from simrun.course.source import Drawing

    given, units = asked
    width = given or ASSUMED_WIDTH_M
    if not drawing.length_m:
        course = read_drawing(Drawing(drawing.text, file_words(path)))
        start = course.right_m[0] - course.left_m[0]
        width = int(100 * float((start**2).sum() ** 0.5)) / 100
    boxes = max(1, min(100, int((width + 1e-9) / BOX_M)))
    length = drawing.length_m or 5000.0
    words = {
        "source": plain_name(path.name),
        "mark": TO_FILL_IN,
        "told": "\n".join(f"# {plain_name(line)}." for line in drawing.told),
        "name": json.dumps(plain_name(path.stem) or "course", ensure_ascii=False),
        "units": units,
        "minutes": min(120, max(2, round(length / SLOWEST_M_S / 60))),
        "width": _length(width, units),
        "boxes": boxes,
        "box": _length(min(BOX_M, width), units),
        "drawn": json.dumps(drawn, ensure_ascii=False),
    }
    parts = [HEAD.format(**words)]
    if drawing.length_m:
        stations = (0, round(length / 2), round(length))
        parts.append(WIDTHS)
        parts += [WIDTH.format(at=at, width=words["width"], mark=TO_FILL_IN) for at in stations]
    return "".join([*parts, FIELD.format(mark=TO_FILL_IN)])


def _length(metres: float, units: str) -> str:
    """A length as it stands in a scenario; feet are cut to what surely fits."""
    if units == "us":
        return f'"{int(metres / METRES_A_FOOT * 100) / 100:g} ft"'
    return f'"{metres:g} m"'
