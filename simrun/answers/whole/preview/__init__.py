"""How does a coach walk the team through the course before the race?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, WORKERS, count_of, seeds


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.whole.preview.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="preview",
    question="walk the team through the course: place by place, on a projector, a phone or paper",
    about="Races the team's plan as the scenario has it and writes preview.html, one page to be shown place "
    "by place: the map, your photographs, what to do there, five seconds of a race, where each of ours is to "
    "be. It prints as a hand-out. What you say of a place stands in the scenario under [[places]]. Its "
    "figures are those of the sheet. If you stop it and run it again, it picks up where it left off.",
    options=(
        SCENARIO,
        seeds(10),
        Option(
            "--team", "whose walk (default: our team); may be given again", many=True, shown="NAME"
        ),
        Option(
            "--talk",
            "how many minutes the talk may last (default: as long as it takes to read aloud)",
            count_of,
            shown="MINUTES",
        ),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=84,
)
