"""The animated picture of a race, as a GIF."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Protocol

import numpy as np

from simrun.base.writing import written_beside
from simrun.pictures.film import blocks
from simrun.pictures.film.painter import Painter
from simrun.pictures.ink.colours import Indices, palette
from simrun.pictures.ink.view import View
from simrun.state.recording import Recording


class Show(Protocol):
    """Pictures in order: a race, or two side by side."""

    view: View

    def __len__(self) -> int: ...

    def picture(self, frame: int) -> Indices:
        """The picture of one drawn moment, palette entries (H, W)."""
        ...

    def held_ms(self, frame: int) -> int:
        """How long is a frame shown?"""
        ...


def animate(
    recording: Recording,
    path: str | Path,
    *,
    follow: str | None = None,
    view: View | None = None,
    progress: Callable[[float], None] | None = None,
) -> Path:
    """What happened at the start, as a moving picture: the whole line, then with whom it follows.

    follow: the name of a team or a runner, None = our team, else the pack. The picture lasts as long
    as the part of the race it shows, divided by the speed-up. `progress` is told the share done.
    Raises BadInput for a name that nobody has and for a view that cannot be shown, CannotWrite.
    Check: tests/journeys/test_gif.py.
    """
    write_gif(Painter(recording, view or View(), follow), path, progress)
    return Path(path)


def write_gif(
    show: Show,
    path: str | Path,
    progress: Callable[[float], None] | None = None,
    most_bytes: float = np.inf,
) -> bool:
    """Write every picture of a show; only one is held at a time.

    False, and nothing is written, where the file would be larger than `most_bytes`.
    """
    try:
        with written_beside(path) as beside, beside.open("wb") as file:
            for block, done in _blocks(show):
                file.write(block)
                if file.tell() > most_bytes:
                    raise _TooLarge
                if progress:
                    progress(done)
    except _TooLarge:
        return False
    return True


class _TooLarge(Exception):
    """Leaves the file that was begun behind, to be removed."""


def _blocks(show: Show) -> Iterator[tuple[bytes, float]]:
    """The file block by block, and the share that is done."""
    yield blocks.header(show.view.width_px, show.view.height_px, palette()), 0.0
    before = None
    for frame in range(len(show)):
        picture = show.picture(frame)
        yield blocks.frame(picture, before, show.held_ms(frame)), (frame + 1) / len(show)
        before = picture
    yield blocks.END, 1.0
