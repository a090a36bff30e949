"""How sure are three answers?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import SCENARIO, WORKERS, seeds, until, whole_number


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.sure.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="sure",
    question="how sure three answers are, and which of what nobody has measured they hang on",
    about="Asks what our box costs, inside or outside, and what going out harder does, with everything drawn "
    "that nobody has measured, and writes sure.html, sure.csv and hangs_on.csv. If you stop it and run it "
    "again, it picks up where it left off.",
    options=(
        SCENARIO,
        Option("--team", "whose answers (default: our team)", str, None, "NAME"),
        seeds(20),
        Option(
            "--rows",
            "so many times every input is moved by itself (default 8; 0: leave that out)",
            whole_number,
            8,
            "N",
        ),
        until(1000.0),
        *WORKERS,
    ),
    answer=_answer,
    place=105,
)
