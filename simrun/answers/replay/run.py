"""A recorded race again: read, and checked before anything is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simrun.answers.kind import Asked, Progress
from simrun.answers.picture import view_of
from simrun.answers.replay.result import ReplayResult
from simrun.pictures.film.films import kinds_of
from simrun.pictures.film.pair import Told
from simrun.pictures.ink.view import View
from simrun.state.recording_file import load


def answer(asked: Asked, progress: Progress) -> list[ReplayResult]:
    """What `simrun replay` does."""
    kinds = kinds_of(asked.film) if asked.film or not asked.page else ()
    folder = asked.out or Path(asked.file).resolve().parent
    how = {"beside": asked.beside, "view": view_of(asked), "follow": asked.follow}
    return [run_replay(asked.file, folder, kinds=kinds, page=asked.page, **how)]


def run_replay(
    file: str | Path,
    folder: str | Path,
    *,
    beside: str | Path | None = None,
    view: View | None = None,
    follow: str | None = None,
    kinds: Sequence[str] = ("gif",),
    page: bool = False,
) -> ReplayResult:
    """What did a recorded race look like, or two side by side?

    view, follow: what is shown; kinds: of `films.KINDS`; page: whether there is a replay.html.
    Nothing is drawn before `save`. Raises BadRecording, BadInput. Check: tests/journeys/test_film.py.
    """
    other = load(beside) if beside else None
    told = Told(load(file), other, follow, view or View())
    told.check(films=bool(kinds))
    return ReplayResult(told, Path(folder), str(file), tuple(kinds), page)
