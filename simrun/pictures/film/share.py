"""One picture to share: the moment that cost most, and the sentence that says what it cost."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from pathlib import Path

import numpy as np

from simrun.base.writing import written_beside
from simrun.pictures.film.pair import Told
from simrun.pictures.ink.colours import Indices, ink, palette
from simrun.pictures.ink.lettering import lettered, width_px
from simrun.pictures.ink.stamps import put_levels
from simrun.pictures.story.captions import frame_at
from simrun.pictures.story.script import Beat

SIZE_PX = (1200, 675)
TYPE_PX, LEADING, EDGE_PX = 26, 1.35, 24


def sentence(beats: tuple[Beat, ...], between: str = ": ") -> str:
    """What it cost by the end of what is shown, and where most: from the last beat and the costliest.

    between: what stands between the two halves of the last beat; of two plans it tells one after the other.
    """
    end = next((beat for beat in beats if beat.is_the_end), None)
    most = next((beat for beat in beats if ": the costliest" in beat.name), None)
    said = [f"{end.place}{between}{end.see}."] if end else []
    said += [f"Most of it at {most.name.replace(': the', ', the')}."] if most else []
    return " ".join(said)


def write_share(told: Told, path: Path) -> Path:
    """The picture of the costliest moment with the sentence under it, as a PNG. Raises CannotWrite.

    Check: tests/unit/pictures/test_where_lost.py.
    """
    import imageio.v3 as imageio

    view = replace(told.view, width_px=SIZE_PX[0], height_px=SIZE_PX[1])
    show = told.show(view)
    beats = show.beats
    most = next(
        (beat for beat in beats if ": the costliest" in beat.name), beats[-1] if beats else None
    )
    frame = frame_at(show.moments.t_s, most.t_s) if most else len(show) - 1
    picture = show.picture(frame)
    whole = np.vstack(
        [picture, _written(sentence(beats, "; " if told.beside else ": "), picture.shape[1])]
    )
    with written_beside(path) as beside:
        imageio.imwrite(beside, palette()[whole], extension=".png")
    return path


def _written(text: str, wide: int) -> Indices:
    """The sentence in as many lines as it needs, on paper."""
    a_letter = width_px(text, TYPE_PX, True) / max(1, len(text))
    lines = textwrap.wrap(text, int(0.95 * (wide - 2 * EDGE_PX) / max(1.0, a_letter))) or [""]
    high = round(len(lines) * TYPE_PX * LEADING) + 2 * EDGE_PX
    part = np.full((high, wide), ink("paper"), dtype=np.uint8)
    part[0] = ink("rule")
    for k, line in enumerate(lines):
        row = EDGE_PX + round(k * TYPE_PX * LEADING)
        put_levels(part, lettered(line, TYPE_PX, True), EDGE_PX, row, "text")
    return part
