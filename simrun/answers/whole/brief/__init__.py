"""All that a coach asks of a drawn box, on one page; or two plans against each other."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, WORKERS, minutes_of


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.whole.brief.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="brief",
    question="one page in about a minute: our box, the plan and others, the finish, what it hangs on",
    about="Runs a scenario to its finish as told, with our team in other boxes, with other plans, and with "
    "other rivals, and writes brief.html, brief.png, brief.csv, brief_ours.csv and brief_teams.csv. With two "
    "files it holds the second plan against the first: the same people, the same chances. If you stop it and "
    "run it again, it picks up where it left off, and with more minutes it goes on.",
    options=(
        Option(
            "files",
            "the scenario, or two with the same people and two plans",
            many=True,
            is_day=True,
        ),
        Option(
            "--minutes",
            "about how long the races may take on two cores (default 1)",
            minutes_of,
            1.0,
            "M",
        ),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=35,
)
