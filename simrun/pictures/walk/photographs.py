"""A coach's photograph made fit for a page: small, upright, and with nothing in it but what is seen."""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageOps

from simrun.base.errors import BadInput, Problem

MOST_PIXELS = 50_000_000
"""A larger picture is refused before it is unpacked; the largest cameras of phones stay below that."""

FORMATS, HEIC = ("JPEG", "PNG"), "HEIF"
HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1")
"""What stands at byte 8 of the pictures that phones take."""

TRIED = ((1600, 80), (1400, 72), (1200, 62), (1000, 50), (800, 40), (600, 30))
"""Longest side in pixels and quality, until the picture is small enough."""

PAPER = (255, 255, 255)
ALLOWED = "a JPEG or a PNG picture"


def photograph(data: bytes, most_bytes: int, key: str) -> bytes:
    """The picture as a JPEG of about `most_bytes` at most, upright, without place, camera or any words.

    key: where the file is named. Raises BadInput for what is no picture, or unpacks to more than
    MOST_PIXELS. Check: tests/unit/pictures/test_photographs.py.
    """
    return jpeg_of(_pixels(data, key), most_bytes)


def jpeg_of(picture: Image.Image, most_bytes: int) -> bytes:
    """The first of TRIED that is small enough, else the smallest."""
    found = b""
    for side, quality in TRIED:
        stream = io.BytesIO()
        small = _at_most(picture, side)
        # The pixels alone: what a camera or a program wrote beside them would be written again.
        bare = Image.new("RGB", small.size, PAPER)
        bare.paste(small)
        bare.save(stream, "JPEG", quality=quality, optimize=True, progressive=True)
        found = stream.getvalue()
        if len(found) <= most_bytes:
            break
    return found


def _at_most(picture: Image.Image, side_px: int) -> Image.Image:
    """No side longer than that; however thin it is, something of it is left."""
    share = side_px / max(picture.size)
    if share >= 1:
        return picture
    wide, high = (max(1, round(share * each)) for each in picture.size)
    return picture.resize((wide, high), Image.Resampling.LANCZOS)


def _pixels(data: bytes, key: str) -> Image.Image:
    """The picture upright, in red, green and blue; looked at before it is unpacked."""
    try:
        with _opened(data, _formats(data, key)) as opened:
            wide, high = opened.size
            if wide * high > MOST_PIXELS:
                raise _too_large(f"{wide} x {high} pixels", key)
            opened.draft("RGB", (TRIED[0][0], TRIED[0][0]))
            upright = ImageOps.exif_transpose(opened)
            return _on_paper(upright)
    except BadInput:
        raise
    except Image.DecompressionBombError:
        raise _too_large("far too many pixels", key) from None
    # Whatever a spoilt file makes of the reader: nothing else is asked of it.
    except Exception:
        raise BadInput(Problem(key, "no picture that can be read", ALLOWED)) from None


def _formats(data: bytes, key: str) -> tuple[str, ...]:
    """As which formats may this be read? Raises BadInput for a HEIC picture where its reader is missing."""
    if data[4:8] != b"ftyp" or data[8:12] not in HEIC_BRANDS:
        return FORMATS
    try:
        import pi_heif
    except ImportError:
        allowed = f'{ALLOWED}, or an install that reads it: pip install "simrun[heic]"'
        raise BadInput(Problem(key, "a HEIC picture", allowed)) from None
    pi_heif.register_heif_opener(thumbnails=False, aux_images=False)
    return (HEIC,)


def _opened(data: bytes, formats: tuple[str, ...]) -> Image.Image:
    """The head of the picture alone; the reader's own warning of many pixels is told by us."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        return Image.open(io.BytesIO(data), formats=formats)


def _too_large(found: str, key: str) -> BadInput:
    allowed = f"at most {MOST_PIXELS // 1_000_000} million: save it smaller"
    return BadInput(Problem(key, found, allowed))


def _on_paper(picture: Image.Image) -> Image.Image:
    """What is clear is white, as on paper."""
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        paper = Image.new("RGBA", clear.size, (*PAPER, 255))
        return Image.alpha_composite(paper, clear).convert("RGB")
    return picture.convert("RGB")
