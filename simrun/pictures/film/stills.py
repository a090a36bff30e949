"""One moment of the race as a still picture, through the same director and painter."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from simrun.base.errors import BadInput, Problem
from simrun.base.writing import written_beside
from simrun.pictures.film.painter import Painter
from simrun.pictures.ink.colours import palette
from simrun.pictures.ink.view import View
from simrun.state.recording import Recording


def still(
    recording: Recording,
    t_s: float,
    path: str | Path,
    *,
    follow: str | None = None,
    view: View | None = None,
) -> Path:
    """What did the race look like at `t_s` seconds after the gun? A PNG.

    The frame that the moving picture shows at that moment; a moment later than the view's end
    moves the end. Raises BadInput as `animate` does, and CannotWrite.
    """
    painter = Painter(recording, _reaching(view or View(), t_s, recording), follow)
    frame = int(np.abs(painter.moments.t_s - t_s).argmin())
    _write_png(palette()[painter.picture(frame)], path)
    return Path(path)


def _reaching(view: View, t_s: float, recording: Recording) -> View:
    first, last = float(recording.times_s[0]), float(recording.times_s[-1])
    if not first <= t_s <= last:
        raise BadInput(Problem("moment", f"{t_s:g} s", f"from 0 to {last:g} s, what was recorded"))
    begin, end = view.span_s(recording.times_s, min(t_s + 10.0, last))
    view = replace(view, speed=view.speed or 1.0)
    return replace(view, from_s=begin, to_s=end if t_s <= end else min(t_s + 10.0, last))


def _write_png(rgb: np.ndarray, path: str | Path) -> None:
    import imageio.v3 as imageio

    with written_beside(path) as beside:
        imageio.imwrite(beside, rgb, extension=".png")
