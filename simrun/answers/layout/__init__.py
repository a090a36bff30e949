"""Which start layout is fair?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, RACES, SCENARIO, WORKERS, count_of, name_of, seeds, until


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.layout.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="layout",
    question="many races: which start layout is fair, and where do its stakes go",
    about="Races the layout as it is and every layout asked for with the same people, and writes "
    "layout.html, layout.csv, stakes.csv and maps. If you stop it and run it again, it picks up where it "
    "left off.",
    options=(
        SCENARIO,
        RACES,
        Option(
            "--vary",
            "width, straight, throat, box-width, front-row, arc, aim, tilt, sideways, teams, waves, "
            "wave-gap or spread; also NAME=A,B,C; the first two named become the map's axes",
            str,
            shown="NAME=FROM:TO:STEP",
            many=True,
        ),
        seeds(20, "how many races a layout"),
        Option("--search", "try N layouts within the ranges", count_of, 0, "N"),
        Option(
            "--aim",
            "race the arc that makes the ways from all boxes equal to a gate by its name, or to the "
            '"finish", and write its stakes',
            name_of,
            None,
            "GATE",
        ),
        until(1000.0),
        Option(
            "--at",
            'where boxes and layouts are compared: "first narrowing" (default), "after the turn", "finish" '
            "(in team points too), or a checkpoint of the scenario",
            name_of,
            None,
            "MARK",
        ),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=60,
)
