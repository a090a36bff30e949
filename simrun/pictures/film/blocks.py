"""How is a GIF written, block by block? A frame is the changed rectangle, and in it only what changed.

Written here because it takes a third less time than handing whole frames to an image library, and
because the codes can be as short as the palette allows. The packing itself is Pillow's.
Source: the format's public specification, version 89a, sections 17 to 27 (memory).
Check: tests/unit/pictures/test_pictures_parts.py (read back by another program).
"""

from __future__ import annotations

import struct

import numpy as np

from simrun.pictures.ink.colours import CLEAR, COLOURS, Indices

END = b"\x3b"

BITS = COLOURS.bit_length() - 1
"""A palette of 64 needs codes of six bits."""

LONGEST_CS = 65535
"""The longest time, in hundredths of a second, that a frame can be held."""

_FOR_EVER = b"\x21\xff\x0bNETSCAPE2.0\x03\x01\x00\x00\x00"
_KEEP_AND_CLEAR = 0b101
"""The frame stays under the next one, and one entry stands for "as before"."""


def header(width_px: int, height_px: int, palette: Indices) -> bytes:
    """Everything before the first frame: size, palette (64, 3), shown again and again."""
    table = 0x80 | 0x70 | (BITS - 1)
    screen = struct.pack("<HHBBB", width_px, height_px, table, 0, 0)
    return b"GIF89a" + screen + palette.tobytes() + _FOR_EVER


def frame(picture: Indices, before: Indices | None, held_ms: int) -> bytes:
    """One picture (H, W) of palette entries behind the picture before, shown for `held_ms`."""
    left, top, part = _changed(picture, before)
    delay = min(round(held_ms / 10), LONGEST_CS)
    control = struct.pack("<BBBBHBB", 0x21, 0xF9, 4, _KEEP_AND_CLEAR, delay, CLEAR, 0)
    place = struct.pack("<BHHHHB", 0x2C, left, top, part.shape[1], part.shape[0], 0)
    return control + place + bytes([BITS]) + _packed(part) + b"\x00"


def _changed(picture: Indices, before: Indices | None) -> tuple[int, int, Indices]:
    """Left, top and entries of the smallest rectangle that holds every change."""
    if before is None:
        return 0, 0, picture
    other = picture != before
    rows, columns = np.flatnonzero(other.any(axis=1)), np.flatnonzero(other.any(axis=0))
    if not len(rows):
        return 0, 0, np.full((1, 1), CLEAR, dtype=np.uint8)
    part = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    return int(columns[0]), int(rows[0]), np.where(other[part], picture[part], np.uint8(CLEAR))


def _packed(part: Indices) -> bytes:
    from PIL import Image

    return Image.fromarray(np.ascontiguousarray(part)).tobytes("gif", "L", BITS, 0)
