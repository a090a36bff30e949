"""Where do the teams finish?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, WORKERS, seeds


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.finish.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="finish",
    question="many races to the finish: team scores and places, with ranges",
    about="Runs the scenario to its finish with many seeds and writes finish.html, finish_teams.csv and, "
    "for our own team, finish_ours.csv. If you stop it and run it again, it picks up where it left off.",
    options=(
        SCENARIO,
        seeds(20),
        Option("--results", "last year's results, to compare with ours", str, None, "CSV"),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=90,
)
