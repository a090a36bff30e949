"""How is a text drawn? As a small mask of how much of every pixel the letters cover."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.ink.colours import LEVELS

Levels = NDArray[np.uint8]

_ELLIPSIS = "\u2026"


def plain(text: str) -> str:
    """The text on one line without control characters; nothing in it is ever read as markup."""
    return "".join(sign if sign.isprintable() else " " for sign in text).strip()


@lru_cache(maxsize=64)
def _font(size_px: int, bold: bool):  # type: ignore[no-untyped-def]
    """The typeface that comes with matplotlib, so that pictures are the same everywhere."""
    import matplotlib
    from PIL import ImageFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return ImageFont.truetype(str(folder / name), size_px)


@lru_cache(maxsize=4096)
def width_px(text: str, size_px: int, bold: bool = False) -> int:
    """How wide is this text?"""
    return int(np.ceil(_font(size_px, bold).getlength(text)))


def clipped(text: str, size_px: int, most_px: int, bold: bool = False) -> str:
    """As much of the text as fits into `most_px`, with three dots where something was left out."""
    text = plain(text)
    if width_px(text, size_px, bold) <= most_px:
        return text
    while text and width_px(text + _ELLIPSIS, size_px, bold) > most_px:
        text = text[:-1]
    return text.rstrip() + _ELLIPSIS


@lru_cache(maxsize=4096)
def lettered(text: str, size_px: int, bold: bool = False) -> Levels:
    """The text as levels of cover 0..LEVELS, (H, W); H is the same for every text of a size."""
    from PIL import Image, ImageDraw

    font = _font(size_px, bold)
    ascent, descent = font.getmetrics()
    image = Image.new("L", (max(1, width_px(text, size_px, bold)), ascent + descent))
    ImageDraw.Draw(image).text((0, 0), text, fill=255, font=font)
    return np.round(np.asarray(image) / 255 * LEVELS).astype(np.uint8)


def haloed(letters: Levels, reach: int) -> Levels:
    """The same mask grown by `reach` pixels on every side, all of it covered: what lies behind."""
    from scipy.ndimage import binary_dilation

    wide = np.pad(letters > 0, reach)
    return np.where(binary_dilation(wide, iterations=reach), LEVELS, 0).astype(np.uint8)
