"""What does every box cost?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, WORKERS, count_of, until


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.boxes.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="boxes",
    question="many races: what does every box cost, with ranges",
    about="Draws the boxes again for every race, so that every team stands in every box, and says what "
    "each costs in seconds, places and team points; then what today's draw does to our team. Writes "
    "boxes.html, boxes.csv, a chart by box and a map of the line. If you stop it and run it again, it "
    "picks up where it left off.",
    options=(
        SCENARIO,
        Option(
            "--seeds",
            "how many races (default: 20 or more, until every team stood in every box as often)",
            count_of,
            None,
            "N",
        ),
        Option("--ours", "our team in every box on every line: many more races", switch=True),
        until(None),
        Option("--clear", "stop as soon as our box's cost is clear", switch=True),
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=40,
)
