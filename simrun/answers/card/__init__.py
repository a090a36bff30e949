"""Where on the course can you pass?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, WORKERS, seeds


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.card.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="card",
    question="the course card: map, hill, where passing is possible, what to do where",
    about="Runs a few races and writes card.html and card.pdf, one sheet to print, and card.csv. If you "
    "stop it and run it again, it picks up where it left off.",
    options=(
        SCENARIO,
        seeds(5),
        Option(
            "--paper", "paper of the PDF (default: letter for us units)", choices=("a4", "letter")
        ),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=80,
)
