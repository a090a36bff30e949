"""What did a recorded race look like?"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import PICTURE


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.answers.replay.run import answer

    return answer(asked, progress)


KIND = Kind(
    name="replay",
    question="a recorded race again, or two side by side: picture, film, page",
    about="Writes a moving picture, a film, a sheet of six moments or a picture of where time was lost "
    "from a recording: other seconds, another runner followed, another race beside it. With --page a page "
    "to play, follow and ride along.",
    options=(
        Option("file", "a recording.npz that `simrun race` wrote"),
        Option("--page", "write replay.html, a page to play, follow and ride along", switch=True),
        Option("--beside", "a recording of the same people with another plan", Path, None, "FILE"),
        Option(
            "--film",
            "gif, mp4, sheet, clip (upright), share, lost (where), with commas (default gif)",
            shown="KINDS",
            many=True,
        ),
        *PICTURE,
    ),
    answer=_answer,
    place=30,
    needs_engine=False,
)
