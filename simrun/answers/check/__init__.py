"""What does the course measure, beside what books and guidance say?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import RACES, name_of


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.check.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="check",
    question="course inspection: what it measures, beside what books and guidance say",
    about="Reads and checks the scenarios and prints the lengths of the lines, the extra way from every "
    "box, widths and distances, each beside rule-book and guidance figures with their source. Runs "
    "nothing, approves nothing, and writes nothing but check.html where --out names a folder.",
    options=(
        Option("files", "scenarios, .toml files", many=True, shown="file", is_day=True),
        RACES,
        Option(
            "--aim",
            "for which arc the ways are told to be equal: to a gate by its name, or to "
            'the "finish" (default: as the scenario says, else the first gate)',
            name_of,
            None,
            "GATE",
        ),
    ),
    answer=_answer,
    place=20,
    needs_engine=False,
)
