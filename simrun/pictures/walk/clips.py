"""A coach's clip on a page: the seconds that count as a short film, else a still. Needs the extra `video`."""

from __future__ import annotations

import contextlib
import logging
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from PIL import Image

from simrun.base.errors import BadInput, Problem
from simrun.pictures.walk.photographs import MOST_PIXELS, jpeg_of

READ_AS = ["-f", "mp4", "-protocol_whitelist", "file"]
"""Whatever the file is called or says, it is read as a film of this kind, and leads to no other file."""

LONGEST_S = 12.0
"""A longer piece of a clip is no look at one place: it stays a still with its time code (assumed)."""

SIDE_PX, FRAMES_S = 640, 15
"""No side of a film on a page is longer than that, and no second has more pictures."""

BITS_A_SECOND = (700_000, 350_000, 180_000)
"""Tried one after the other, until the film is small enough."""

SMALL = (
    f"scale='if(gt(iw,ih),min({SIDE_PX},iw),-2)':'if(gt(iw,ih),-2,min({SIDE_PX},ih))',"
    f"crop='trunc(iw/2)*2':'trunc(ih/2)*2',fps={FRAMES_S}"
)


def can_read() -> bool:
    """Is the extra `video` there?"""
    try:
        import imageio_ffmpeg
    except ImportError:
        return False
    return bool(imageio_ffmpeg)


def still(path: Path, at_s: float, most_bytes: int, key: str) -> bytes:
    """The picture of a clip at a second, as a JPEG. key: where the file is named.

    Raises BadInput where it cannot be read, ends before, or the extra is missing.
    Check: tests/unit/pictures/test_clips.py.
    """
    with _frames(path, ["-ss", f"{at_s:.2f}"], [], at_s, key) as (size, frames):
        return jpeg_of(Image.frombytes("RGB", size, next(frames)), most_bytes)


def moving(path: Path, from_s: float, to_s: float, most_bytes: int, key: str) -> bytes:
    """A piece of a clip as an MP4 of at most `most_bytes`, without sound and without any words.

    It is made of the pictures alone: place, camera, names, subtitles and sound of the clip go nowhere. A
    clip that ends within the piece gives what there is. key: where the file is named. Raises BadInput as
    `still` does, and for a piece that no tried rate makes small enough.
    Check: tests/unit/pictures/test_clips.py.
    """
    asked = ["-ss", f"{from_s:.2f}", "-t", f"{to_s - from_s:.2f}"]
    with _frames(path, asked, ["-vf", SMALL], from_s, key) as (size, frames):
        pictures = [next(frames), *frames]
    for bits in BITS_A_SECOND:
        film = _film(pictures, size, bits)
        if len(film) <= most_bytes:
            return film
    found, allowed = f"{to_s - from_s:g} s of it are too much for one page", "a shorter piece of it"
    raise BadInput(Problem(key, found, allowed))


@contextlib.contextmanager
def _frames(
    path: Path, asked: list[str], made: list[str], at_s: float, key: str
) -> Iterator[tuple[tuple[int, int], Iterator[bytes]]]:
    """The size and the pictures of a clip, read as asked. Raises BadInput, whatever the reader raises."""
    try:
        import imageio_ffmpeg
    except ImportError:
        allowed = 'an install with films: pip install "simrun[video]"; or a photo in its place'
        raise BadInput(Problem(key, "a clip", allowed)) from None
    # Its word that a film is read smaller than it is would stand in the coach's terminal.
    logging.getLogger("imageio_ffmpeg").setLevel(logging.ERROR)
    options: dict[str, Any] = {"input_params": [*READ_AS, *asked], "output_params": made}
    try:
        with contextlib.closing(imageio_ffmpeg.read_frames(path, **options)) as frames:
            told = next(frames)
            wide, high = told["source_size"]
            if wide * high > MOST_PIXELS:
                raise BadInput(Problem(key, f"{wide} x {high} pixels", "a film of a usual size"))
            yield told["size"], frames
    except BadInput:
        raise
    # Whatever a spoilt film makes of the reader: nothing else is asked of it.
    except Exception:
        found = f"no film that has a picture at {at_s:g} s"
        raise BadInput(Problem(key, found, "an MP4 film that lasts so long")) from None


def _film(pictures: list[bytes], size: tuple[int, int], bits: int) -> bytes:
    """These pictures as an MP4 that a browser plays, at about so many bits a second."""
    import imageio_ffmpeg

    bare = ["-map_metadata", "-1", "-fflags", "+bitexact", "-flags:v", "+bitexact"]
    held = ["-maxrate", str(bits), "-bufsize", str(bits), "-movflags", "+faststart"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "clip.mp4"
        film = imageio_ffmpeg.write_frames(
            path,
            size,
            fps=FRAMES_S,
            codec="libx264",
            bitrate=str(bits),
            macro_block_size=2,
            output_params=[*bare, *held],
        )
        film.send(None)
        for picture in pictures:
            film.send(picture)
        film.close()
        return path.read_bytes()
