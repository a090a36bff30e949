"""The same pictures as an MP4 film, for a projector or a phone. Needs the extra `video`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from simrun.errors import CannotWrite
from simrun.pictures.colours import palette
from simrun.pictures.gif import Show
from simrun.writing import written_beside

_QUALITY = ["-crf", "20", "-preset", "veryfast", "-movflags", "+faststart", "-threads", "1"]
"""Flat colours and small type stay clean; the film begins before the whole of it is loaded."""


def write_mp4(
    show: Show, path: str | Path, progress: Callable[[float], None] | None = None
) -> Path:
    """Write every picture of a show; one that is held is repeated.

    Raises CannotWrite where the extra is missing or the encoder refuses. Check: tests/journeys/test_film.py.
    """
    encoder = check_encoder(path)
    colours = palette()
    with written_beside(path) as beside:
        # Colours are halved in both directions, so the size must be even.
        size = tuple(side - side % 2 for side in (show.view.width_px, show.view.height_px))
        film = encoder.write_frames(
            str(beside),
            size,
            fps=show.view.frames_per_s,
            macro_block_size=2,
            output_params=_QUALITY,
        )
        film.send(None)
        try:
            for frame in range(len(show)):
                picture = np.ascontiguousarray(colours[show.picture(frame)[: size[1], : size[0]]])
                for _ in range(round(show.held_ms(frame) / show.view.frame_ms)):
                    film.send(picture)
                if progress:
                    progress((frame + 1) / len(show))
        finally:
            film.close()
    return Path(path)


def check_encoder(path: str | Path) -> Any:
    """The package that packs films. Raises CannotWrite where it is not there."""
    try:
        import imageio_ffmpeg
    except ImportError:
        needed = 'a film needs the extra "video": pip install "simrun[video]"'
        raise CannotWrite(f"{path}: cannot be written: {needed}") from None
    return imageio_ffmpeg
