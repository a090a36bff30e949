"""Where are race days to try this with? Put where the person is."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.kind import Asked, Kind, Progress, Result


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.demo.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="demo",
    question="race days of an invented world, to try everything with",
    about="Writes the race days that come with simrun, with their entry list, box sheet and map, to the "
    "folder scenarios here, or to the one that --out names. A file of yours is never written over.",
    options=(),
    answer=_answer,
    place=3,
    needs_engine=False,
)
