"""What do counts and split times say of what nobody has measured?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import SCENARIO, WORKERS, at_least, until
from simrun.trials.learning import TABLE_RACES


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.learn.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="learn",
    question="what your counts and split times say of what nobody has measured, and what to measure next",
    about="Takes last year's splits, counts made with a phone, gun and net times, and narrows the inputs to "
    "what agrees with them: writes learn.html, learn.csv and a file that every other command uses once the "
    "scenario names it. Without any of them it says what is worth measuring. Needs the extra `learn`. If you "
    "stop it and run it again, it picks up where it left off.",
    options=(
        SCENARIO,
        Option("--results", "last year's results, with splits at checkpoints", str, None, "CSV"),
        Option(
            "--counts", "what was counted: a list with the columns what, at, seen", str, None, "CSV"
        ),
        Option("--starts", "gun and net times: a list with the columns gun, net", str, None, "CSV"),
        Option(
            "--races",
            f"how many races to learn from (default {TABLE_RACES})",
            at_least(200),
            TABLE_RACES,
            "N",
        ),
        until(1000.0),
        *WORKERS,
    ),
    answer=_answer,
    place=106,
)
