"""A still of a coach's clip, at the second that counts. Needs the extra `video`."""

from __future__ import annotations

import contextlib
from pathlib import Path

from PIL import Image

from simrun.base.errors import BadInput, Problem
from simrun.pictures.walk.photographs import MOST_PIXELS, jpeg_of

READ_AS = ["-f", "mp4", "-protocol_whitelist", "file"]
"""Whatever the file is called or says, it is read as a film of this kind, and leads to no other file."""


def still(path: Path, at_s: float, most_bytes: int, key: str) -> bytes:
    """The picture of a clip at a second, as a JPEG. key: where the file is named.

    Raises BadInput where it cannot be read, ends before, or the extra is missing.
    Check: tests/unit/pictures/test_photographs.py.
    """
    try:
        import imageio_ffmpeg
    except ImportError:
        allowed = 'an install with films: pip install "simrun[video]"; or a photo in its place'
        raise BadInput(Problem(key, "a clip", allowed)) from None
    try:
        asked = [*READ_AS, "-ss", f"{at_s:.2f}"]
        with contextlib.closing(imageio_ffmpeg.read_frames(path, input_params=asked)) as frames:
            wide, high = next(frames)["size"]
            if wide * high > MOST_PIXELS:
                raise BadInput(Problem(key, f"{wide} x {high} pixels", "a film of a usual size"))
            picture = Image.frombytes("RGB", (wide, high), next(frames))
    except BadInput:
        raise
    # Whatever a spoilt film makes of the reader: nothing else is asked of it.
    except Exception:
        found = f"no film that has a picture at {at_s:g} s"
        raise BadInput(Problem(key, found, "an MP4 film that lasts so long")) from None
    return jpeg_of(picture, most_bytes)
