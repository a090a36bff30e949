"""What happens in one race?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import PICTURE, SCENARIO, whole_number


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.race.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="race",
    question="one race: tables, a page, the recording and a moving picture",
    about="Runs one race of the scenario and writes race.html, loss.csv, boxes.csv, lines.csv, "
    "boxes_lines.csv, recording.npz and race.gif.",
    options=(
        SCENARIO,
        Option("--seed", "which people and chances (default 1)", whole_number, 1, "N"),
        Option("--no-gif", "leave the moving picture out", switch=True),
        Option("--page", "also write replay.html, to which race.html then links", switch=True),
        *PICTURE,
    ),
    answer=_answer,
    place=10,
)
