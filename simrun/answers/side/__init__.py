"""Can we get to the good side from our box, and what does it cost?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, WORKERS, seeds


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.side.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="side",
    question="many races: who gets to the good side of the first narrowing, and what crossing costs us",
    about="Counts by box who arrives on the good side at the first narrowing, tells our team to cross and "
    "not to, tries the first turn with entry, apex and exit apart, and writes side.html, side.png, side.csv, "
    "side_ours.csv and side_where.csv. If you stop it and run it again, it picks up where it left off.",
    options=(
        SCENARIO,
        Option("--team", "whose box (default: our team)", str, None, "NAME"),
        Option(
            "--good",
            "the good side of the narrowing (default: the inside of the turn behind it)",
            choices=("left", "right"),
        ),
        seeds(12),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=55,
)
