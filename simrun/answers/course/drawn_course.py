"""The scenario of a line that was drawn on a map, which is kept as a drawing."""

from __future__ import annotations

import json
from pathlib import Path

from simrun.answers.course.words import HEAD, TO_FILL_IN, WIDTH, WIDTHS
from simrun.answers.papers import Papers, people_tables
from simrun.base.units import METRES_A_FOOT
from simrun.course.drawing.drawn import read_drawing
from simrun.course.source import Drawing
from simrun.course.tracks.track_drawing import TrackDrawing
from simrun.course.tracks.track_lines import plain_name
from simrun.scenario.named_files import file_words

ASSUMED_WIDTH_M = 6.0
"""How wide the course is until somebody measures it (assumed)."""

BOX_M = 2.0
SLOWEST_M_S = 2.0


def drawn_text(
    path: Path,
    drawing: TrackDrawing,
    drawn: str,
    asked: tuple[float | None, str],
    papers: Papers,
) -> str:
    """The text of the scenario. asked: the width, if one was given, and the units."""
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
    return "\n".join(["".join(parts), *people_tables(papers, remark=TO_FILL_IN)])


def _length(metres: float, units: str) -> str:
    """A length as it stands in a scenario; feet are cut to what surely fits."""
    if units == "us":
        return f'"{int(metres / METRES_A_FOOT * 100) / 100:g} ft"'
    return f'"{metres:g} m"'
