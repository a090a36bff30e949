"""A photograph is small and upright and tells nothing but what is seen; what is none is one line."""

from __future__ import annotations

import io
import struct
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from simrun.base.errors import BadInput
from simrun.pictures.walk.photographs import MOST_PIXELS, photograph

SCRIPT = "<script>alert(document.domain)</script>"
MOST = 300_000


def grainy(wide: int, high: int) -> Image.Image:
    """A picture that does not pack well, as a camera's."""
    random = np.random.default_rng(1)
    return Image.fromarray(random.integers(0, 255, (high, wide, 3), dtype=np.uint8))


def as_file(picture: Image.Image, kind: str, **more: object) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, kind, **more)
    return stream.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def test_where_and_with_what_it_was_taken_is_gone() -> None:
    """Place, camera, a comment with a script: in the file that is given, and nowhere in what is made."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Cameramaker", SCRIPT
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 15.0)
    given = as_file(grainy(80, 60), "JPEG", exif=exif, comment=SCRIPT.encode())
    assert b"Cameramaker" in given
    assert SCRIPT.encode() in given
    made = photograph(given, MOST, "k")
    assert b"Cameramaker" not in made
    assert b"script" not in made
    assert b"Exif" not in made
    assert not opened(made).getexif()
    assert not {"comment", "exif", "icc_profile", "photoshop"} & set(opened(made).info)


def test_words_in_a_png_are_gone() -> None:
    told = PngImagePlugin.PngInfo()
    told.add_text("Comment", SCRIPT)
    given = as_file(grainy(80, 60), "PNG", pnginfo=told)
    assert SCRIPT.encode() in given
    assert b"script" not in photograph(given, MOST, "k")


def test_a_picture_taken_upright_stands_upright() -> None:
    """Orientation 6: the camera's left edge is the top. A red top row must stay on top."""
    picture = Image.new("RGB", (60, 40), (0, 0, 255))
    picture.paste((255, 0, 0), (0, 0, 12, 40))
    exif = Image.Exif()
    exif[0x0112] = 6
    made = opened(photograph(as_file(picture, "JPEG", exif=exif), MOST, "k"))
    assert made.size == (40, 60)
    red, _, blue = made.getpixel((20, 3))
    assert red > 200 > 60 > blue


def test_what_is_clear_is_paper() -> None:
    made = opened(photograph(as_file(Image.new("RGBA", (20, 20), (0, 0, 0, 0)), "PNG"), MOST, "k"))
    assert made.getpixel((10, 10)) == (255, 255, 255)


def test_it_is_small_enough_however_grainy() -> None:
    made = photograph(as_file(grainy(800, 600), "JPEG", quality=90), 60_000, "k")
    assert len(made) <= 60_000
    assert opened(made).format == "JPEG"
    assert opened(made).size[0] * 3 == opened(made).size[1] * 4


def bomb(wide: int, high: int) -> bytes:
    """A PNG of a few bytes whose head says that it is enormous."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 100_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    with pytest.raises(
        BadInput, match=r"^places\.1\.photo: far too many pixels; at most 50 million"
    ):
        photograph(bomb(60_000, 60_000), MOST, "places.1.photo")
    side = int(MOST_PIXELS**0.5) + 1
    for wide in (side, int(1.4 * side)):
        with pytest.raises(BadInput, match=f"{wide} x {wide} pixels"):
            photograph(bomb(wide, wide), MOST, "k")


def test_a_picture_as_thin_as_a_thread_is_a_picture() -> None:
    made = photograph(as_file(Image.new("RGB", (9000, 2)), "PNG"), MOST, "k")
    assert opened(made).size == (1600, 1)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"GIF89a" + b"\0" * 50,
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        b"\xff\xd8\xff\xe0" + b"\0" * 40,
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
        as_file(grainy(40, 30), "JPEG")[:700],
    ],
)
def test_what_is_no_picture_is_one_line(data: bytes) -> None:
    """Another format, a page that calls itself a picture, a cut file."""
    with pytest.raises(BadInput) as wrong:
        photograph(data, MOST, "places.2.photo")
    told = "places.2.photo: no picture that can be read; a JPEG or a PNG picture"
    assert str(wrong.value) == told


def test_a_spoilt_picture_never_does_anything_else() -> None:
    """Every byte of a small JPEG spoilt once: a picture, or the one line."""
    given = bytearray(as_file(Image.new("RGB", (16, 16), (9, 99, 199)), "JPEG"))
    outcomes = set()
    for at in range(0, len(given), 5):
        spoilt = bytes(given[:at]) + bytes([given[at] ^ 0xFF]) + bytes(given[at + 1 :])
        try:
            photograph(spoilt, MOST, "k")
            outcomes.add("picture")
        except BadInput:
            outcomes.add("line")
    assert outcomes == {"picture", "line"}


def test_a_picture_of_a_phone_in_heic_is_read_upright_and_bare() -> None:
    """upright.heic, 60 x 40, was written once with the encoder that we leave out: its left edge is red, and
    the camera was held so that this is the top; the camera's maker and a place stand in it."""
    pytest.importorskip("pi_heif", reason='needs the extra "heic"')
    given = (Path(__file__).parent / "upright.heic").read_bytes()
    assert b"Cameramaker" in given
    data = photograph(given, MOST, "k")
    made = opened(data)
    assert made.size == (40, 60)
    red, _, blue = made.getpixel((20, 3))
    assert red > 180 > 90 > blue
    assert b"Cameramaker" not in data
    assert not made.getexif()
    for cut in (20, 200, len(given) - 40):
        with pytest.raises(BadInput, match="no picture that can be read"):
            photograph(given[:cut], MOST, "k")


def test_without_its_reader_a_heic_picture_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    given = (Path(__file__).parent / "upright.heic").read_bytes()
    with pytest.raises(
        BadInput, match=r"^k: a HEIC picture; a JPEG or a PNG picture, or an install"
    ):
        photograph(given, MOST, "k")
