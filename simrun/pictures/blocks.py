"""How are several GIFs of one size and palette put one after the other?

Frames are independent blocks, so a long picture is written piece by piece and never held whole.
Source: the format's public specification, version 89a, sections 17 to 27 (memory).
"""

from __future__ import annotations

END = b"\x3b"

_FIXED_HEADER = 13
_EXTENSION, _IMAGE = 0x21, 0x2C
_GRAPHIC_CONTROL = 0xF9


def header_of(gif: bytes) -> bytes:
    """Everything before the first frame: size, palette, how often it repeats."""
    return gif[: _first_frame(gif)]


def frames_of(gif: bytes) -> bytes:
    """Every frame, without header and end."""
    return gif[_first_frame(gif) : -1]


def _first_frame(gif: bytes) -> int:
    at = _FIXED_HEADER + _table_bytes(gif[10])
    while gif[at] == _EXTENSION and gif[at + 1] != _GRAPHIC_CONTROL:
        at = _behind_blocks(gif, at + 2)
    if gif[at] not in (_EXTENSION, _IMAGE):
        raise ValueError("not a GIF of frames")
    return at


def _table_bytes(flags: int) -> int:
    """How long is the colour table that these flags announce?"""
    return 3 * 2 ** ((flags & 7) + 1) if flags & 0x80 else 0


def _behind_blocks(gif: bytes, at: int) -> int:
    """Where do the blocks end that begin at `at`? Each tells its length first, the last is empty."""
    while gif[at]:
        at += gif[at] + 1
    return at + 1
