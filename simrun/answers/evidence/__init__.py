"""How far can the model be trusted?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.evidence.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="evidence",
    question="hold the model against published figures and write the report card",
    about="Runs the experiments and writes evidence.html: for every check what was measured, the "
    "published band, its source, met or missed.",
    options=(Option("--quick", "fewer races, no sensitivity", switch=True),),
    answer=_answer,
    place=110,
)
