"""The desk: a race day in the browser, from the ground to the printed sheet. The file stays the truth."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simrun.answers.kind import Asked, Kind, Option, Progress, Result
from simrun.answers.options import count_of, whole_number


def _answer(asked: Asked, progress: Progress) -> Sequence[Result]:
    from simrun.desk.run import answer

    return answer(asked, progress)


def port_of(text: str) -> int:
    """A port of this machine that anybody may use, or 0 for any free one."""
    port = whole_number(text)
    if port and not 1024 <= port <= 65535:
        raise ValueError(f"{text[:40]!r}; 0 or a port from 1024 to 65535 is needed")
    return port


KIND = Kind(
    name="desk",
    question="a race day in the browser: the ground, the line, the people, the plan, the answer",
    about="Opens a page in the browser on this machine alone and works on the scenarios of one folder: "
    "everything done there is a change of a scenario file, so the same file runs on the command line. Draw "
    "a course or drop a track, drag the line, paste the lists, run the races, print the sheet. Stop it with "
    "Ctrl-C; nothing is lost.",
    options=(
        Option("folder", "the folder of the scenarios (default: this one)", Path, Path()),
        Option("--port", "a port of this machine (default: any free one)", port_of, 0, "N"),
        Option("--no-browser", "print the address only, open no browser", switch=True),
        Option("--workers", "processes (default: one a core)", count_of, None, "N"),
    ),
    answer=_answer,
    place=15,
)
