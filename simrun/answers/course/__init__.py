"""How does a track from a watch or a map become a scenario?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import length_of


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.course.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="course",
    question="a track from a watch or a map becomes a scenario to be completed",
    about="Reads GPX, KML or GeoJSON and writes a scenario, its drawing and a picture of it. Widths "
    "cannot be measured by a watch: they are assumed and marked, to be filled in.",
    options=(
        Option("file", "a .gpx, .kml or .geojson file"),
        Option("--width", 'one width, such as "6 m"', length_of, None, "W"),
        Option("--part", "which line of the file, or all where they join", str, "", "N"),
        Option("--from", "where it begins", length_of, 0.0, "M"),
        Option("--to", "where it ends", length_of, None, "M"),
    ),
    answer=_answer,
    place=70,
    needs_engine=False,
)
