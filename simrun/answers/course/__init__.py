"""How does a track from a watch or a map become a scenario?"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import PAPERS, count_of, length_of


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.course.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="course",
    question="a track from a watch or a map becomes a scenario",
    about="Reads GPX, KML or GeoJSON and writes a scenario and a picture of it. What a watch recorded "
    "becomes straights, turns and laps; a line drawn on a map is kept as it is. A watch cannot measure "
    "widths: they are assumed, marked, and asked for in a list with the place of each.",
    options=(
        Option("file", "a .gpx, .kml or .geojson file"),
        Option("--width", 'how wide the course is, such as "6 m"', length_of, None, "W"),
        Option("--start-width", 'how wide the start line is, such as "70 m"', length_of, None, "W"),
        Option("--boxes", "how many boxes the line has", count_of, None, "N"),
        Option("--box-width", 'how wide one box is, such as "2.5 m"', length_of, None, "W"),
        Option("--front-row", "how many stand side by side in a box", count_of, None, "N"),
        Option("--answers", "the list of questions with its answers", Path, None, "FILE"),
        *PAPERS,
        Option("--part", "which line of the file, or all where they join", str, "", "N"),
        Option("--from", "where it begins", length_of, 0.0, "M"),
        Option("--to", "where it ends", length_of, None, "M"),
    ),
    answer=_answer,
    place=70,
    needs_engine=False,
)
