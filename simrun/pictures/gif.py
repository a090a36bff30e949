"""The animated picture of one race, as a GIF."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np

from simrun.pictures.blocks import END, frames_of, header_of
from simrun.pictures.colours import CLEAR, Indices, palette
from simrun.pictures.painter import Painter
from simrun.pictures.view import View
from simrun.state.recording import Recording
from simrun.writing import written_beside

CHUNK_FRAMES = 60
"""So many frames are held and written at a time: 22 MB at the usual size."""


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
    painter = Painter(recording, view or View(), follow)
    with written_beside(path) as beside, beside.open("wb") as file:
        for chunk, done in _chunks(painter):
            _append(file, chunk, painter.view.frame_ms)
            if progress:
                progress(done)
        file.write(END)
    return Path(path)


def _chunks(painter: Painter) -> Iterator[tuple[Indices, float]]:
    """The pictures in order, some at a time (C, H, W), and the share that is done."""
    for first in range(0, len(painter), CHUNK_FRAMES):
        last = min(first + CHUNK_FRAMES, len(painter))
        yield np.stack([painter.picture(i) for i in range(first, last)]), last / len(painter)


def _append(file: BinaryIO, chunk: Indices, frame_ms: int) -> None:
    """Write some frames behind those already in the file; the first time with the header."""
    whole = _encoded(chunk, frame_ms)
    if not file.tell():
        file.write(header_of(whole))
    file.write(frames_of(whole))


def _encoded(chunk: Indices, frame_ms: int) -> bytes:
    """One GIF of these frames that says only what changed from frame to frame."""
    import imageio.v3 as imageio

    encoded: bytes = imageio.imwrite(
        "<bytes>",
        chunk,
        extension=".gif",
        plugin="pillow",
        is_batch=True,
        duration=frame_ms,
        loop=0,
        palette=palette().tobytes(),
        transparency=CLEAR,
        optimize=True,
        disposal=1,
    )
    return encoded
