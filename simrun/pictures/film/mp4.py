"""The same pictures as an MP4 film, for a projector or a phone. Needs the extra `video`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from simrun.base.errors import CannotWrite
from simrun.base.writing import written_beside
from simrun.pictures.film.gif import Show
from simrun.pictures.ink.colours import palette

_QUALITY = ["-crf", "20", "-preset", "veryfast", "-movflags", "+faststart", "-threads", "1"]
"""Flat colours and small type stay clean; the film begins before the whole of it is loaded."""


def write_mp4(
    show: Show, path: str | Path, progress: Callable[[float], None] | None = None
) -> Path:
    """Write every picture of a show; one that is held is repeated.

    Raises CannotWrite where the extra is missing or the encoder refuses. Check: tests/journeys/test_film.py.
    """
    import imageio.v2 as imageio

    check_encoder(path)
    colours = palette()
    with written_beside(path) as beside:
        # Colours are halved in both directions, so the size must be even.
        size = tuple(side - side % 2 for side in (show.view.width_px, show.view.height_px))
        with imageio.get_writer(
            beside,
            format="FFMPEG",
            fps=show.view.frames_per_s,
            macro_block_size=2,
            output_params=_QUALITY,
        ) as film:
            for frame in range(len(show)):
                picture = np.ascontiguousarray(colours[show.picture(frame)[: size[1], : size[0]]])
                for _ in range(round(show.held_ms(frame) / show.view.frame_ms)):
                    film.append_data(picture)  # type: ignore[attr-defined]
                if progress:
                    progress((frame + 1) / len(show))
    return Path(path)


def check_encoder(path: str | Path) -> None:
    """Raises CannotWrite where the package that packs films is not there."""
    try:
        import imageio_ffmpeg  # noqa: F401
    except ImportError:
        needed = 'a film needs the extra "video": pip install "simrun[video]"'
        raise CannotWrite(f"{path}: cannot be written: {needed}") from None
