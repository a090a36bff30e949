"""What does a box cost on a line that is known by a few figures? At once, without a race."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import count_of, length_of, number_of


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.estimate.run import answer

    return answer(asked, progress)


def _seconds(text: str) -> float:
    minutes, sign, seconds = text.rpartition(":")
    return (60 * count_of(minutes) if sign else 0) + number_of(seconds)


KIND = Kind(
    name="estimate",
    question="at once, without a race: what a box costs on a line of which you know a few figures",
    about="Takes the figures of a line and its course, reads what every box costs off a model that was "
    "fitted to thousands of simulated races, and says how sure that is. What you leave out is not known. "
    "Where --page is asked for, writes estimate.html, a page with sliders that needs no network, and "
    "lessons.html, what all of those races teach.",
    options=(
        Option(
            "--width",
            "width of the line, all its boxes together",
            length_of,
            None,
            "M",
            required=True,
        ),
        Option("--boxes", "how many boxes", count_of, None, "N", required=True),
        Option("--runners", "runners in a box", count_of, None, "N", required=True),
        Option(
            "--straight",
            "from the line to the end of the narrowing",
            length_of,
            None,
            "M",
            required=True,
        ),
        Option("--throat", "width of the course there", length_of, None, "M", required=True),
        Option(
            "--box", "which box is ours, counted from the left", count_of, None, "N", required=True
        ),
        Option(
            "--offset",
            "how far right of the line's middle the throat is (left: below 0)",
            number_of,
        ),
        Option("--turn", "which way the first turn behind it goes", choices=("left", "right")),
        Option("--turn-after", "from the throat to that turn", length_of, None, "M"),
        Option("--angle", "degrees of the turn", number_of, None, "DEG"),
        Option("--turn-width", "width of the course in the turn", length_of, None, "M"),
        Option("--radius", "inside radius of the turn; 0 is a post", length_of, None, "M"),
        Option("--abreast", "side by side in the front row of a box", count_of, None, "N"),
        Option("--time", "mean 5 km time of the field, such as 18:30", _seconds, None, "MM:SS"),
        Option("--spread", "standard deviation of those times", number_of, None, "S"),
        Option("--start", "how the field goes out", choices=("usual", "quick", "wild")),
        Option("--page", "write the page with sliders, and what the races teach", switch=True),
    ),
    answer=_answer,
    place=12,
    needs_engine=False,
)
