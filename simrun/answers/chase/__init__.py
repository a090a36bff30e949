"""What can be run back of seconds lost at the start, and how many places does a kick bring?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, WORKERS, length_of, number_of, seeds


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.chase.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="chase",
    question="many races: how much of seconds lost at the start our team runs back, and what a kick brings",
    about="Makes our team late at the gun, with everybody racing for places, and writes chase.html, "
    "chase.png, chase.csv, chase_races.csv and chase_kick.csv. If you stop it and run it again, it picks up "
    "where it left off.",
    options=(
        SCENARIO,
        Option(
            "--lost",
            "so many seconds late at the gun; may be given more than once (default 5, 10 and 20)",
            number_of,
            None,
            "S",
            many=True,
        ),
        Option(
            "--in-hand",
            "so many metres kept in hand; may be given more than once (default 20 and 40)",
            length_of,
            None,
            "M",
            many=True,
        ),
        seeds(10),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=95,
)
