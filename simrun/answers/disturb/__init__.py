"""Somebody is down: who is held up?"""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import INPUTS, SCENARIO, length_of, number_of, seeds


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.disturb.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="disturb",
    question="somebody is down at a point for some seconds: who is held up, and for how long",
    about="Runs the same people with and without somebody down, and writes disturbance.html, "
    "disturbance.png and disturbance.csv. It says nothing about whether anybody falls.",
    options=(
        SCENARIO,
        Option(
            "--at",
            'how far along: metres, or text such as "150 yd"',
            length_of,
            None,
            "M",
            required=True,
        ),
        Option("--across", "where across", default="middle", choices=("left", "middle", "right")),
        Option("--lasts", "for so many seconds (default 20)", number_of, 20.0, "S"),
        Option("--since", "from so many seconds on (default: mid-field)", number_of, None, "S"),
        seeds(10),
        INPUTS,
    ),
    answer=_answer,
    place=100,
)
