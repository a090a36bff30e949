"""How does a race day get on paper? By ten questions, each with an answer to begin with."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Ask, Asked, Kind, Option, Progress, Result
from simrun.answers.options import PAPERS, count_of, length_of, name_of


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.new.run import answer

    return answer(asked, progress)


def _asks(asked: Asked) -> Ask | None:
    from simrun.answers.new.asks import next_ask

    return next_ask(asked)


KIND = Kind(
    name="new",
    question="a new scenario by ten questions, each with a default",
    about="Asks ten questions, at the terminal or with the answers piped in, a line each, and writes a "
    "scenario. What an option says is not asked. With --grammar it prints all that may be written.",
    options=(
        Option("file", "the scenario to be written (default: named as the race)", str, ""),
        Option("--name", "what the race is called", name_of, None, "NAME"),
        Option("--start-width", 'how wide the start line is, such as "60 m"', length_of, None, "W"),
        Option("--boxes", "how many boxes the line has", count_of, None, "N"),
        Option("--front-row", "how many stand side by side in a box", count_of, None, "N"),
        Option(
            "--narrowing", "how far from the line the start has come down", length_of, None, "M"
        ),
        Option("--width", "how wide the course is from there on", length_of, None, "W"),
        Option("--length", "how long the race is", length_of, None, "M"),
        Option("--box", "which box is ours", count_of, None, "N"),
        *PAPERS,
        Option("--grammar", "print what may be written in a scenario, ask nothing", switch=True),
    ),
    answer=_answer,
    place=5,
    needs_engine=False,
    asks=_asks,
)
