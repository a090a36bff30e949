"""What does the coach carry on the clipboard?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, RACES, SCENARIO, WORKERS, seeds


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.sheet.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="sheet",
    question="the sheet for the clipboard: the box, mark by mark, who runs with whom",
    about="Races the team's plan as the scenario has it and writes sheet_a4.pdf, sheet_letter.pdf, "
    "sheet.html for the phone, and sheet.csv with its tables. Several squads have a sheet each. If you "
    "stop it and run it again, it picks up where it left off.",
    options=(
        SCENARIO,
        seeds(10),
        Option(
            "--team", "whose sheet (default: our team); may be given again", many=True, shown="NAME"
        ),
        RACES,
        INPUTS,
        *WORKERS,
    ),
    answer=_answer,
    place=85,
)
