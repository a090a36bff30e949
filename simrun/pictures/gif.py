"""The animated picture of a race, as a GIF."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from simrun.pictures import blocks
from simrun.pictures.colours import palette
from simrun.pictures.painter import Painter
from simrun.pictures.view import View
from simrun.state.recording import Recording
from simrun.writing import written_beside

TOLD_FRAMES = 30
"""How far we are is told every so many frames."""


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
    return write_gif(Painter(recording, view or View(), follow), path, progress)


def write_gif(
    show: Painter, path: str | Path, progress: Callable[[float], None] | None = None
) -> Path:
    """Write every picture of a show; only one is held at a time."""
    with written_beside(path) as beside, beside.open("wb") as file:
        before = None
        file.write(blocks.header(show.view.width_px, show.view.height_px, palette()))
        for frame in range(len(show)):
            picture = show.picture(frame)
            file.write(blocks.frame(picture, before, show.held_ms(frame)))
            before = picture
            if progress and (frame + 1) % TOLD_FRAMES == 0:
                progress((frame + 1) / len(show))
        file.write(blocks.END)
    return Path(path)
