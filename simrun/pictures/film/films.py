"""Which files does a replay write? GIF, film and sheet from one script, and a GIF small enough to send."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from simrun.base.errors import BadInput, Problem, nearest_word
from simrun.pictures.charts.where_lost import write_where_lost
from simrun.pictures.film.gif import write_gif
from simrun.pictures.film.mp4 import check_encoder, write_mp4
from simrun.pictures.film.pair import Told
from simrun.pictures.film.share import write_share
from simrun.pictures.film.sheet import write_sheet
from simrun.pictures.ink.view import View

KINDS = ("gif", "mp4", "sheet", "clip", "share", "lost")
"""Moving picture, film, sheet of six moments; upright clip and one picture for a chat; where it was lost."""

MOST_BYTES = 5_000_000
"""What a chat carries without asking (our own requirement)."""

CLIP_PX, CLIP_S = (720, 1280), 20.0
"""How large and how long is the upright clip?"""

FILM_FRAMES_PER_S = 20.0
"""A film may move more smoothly than a GIF: it packs likeness, not lines."""

_LIGHTER = ((1.0, 5.0), (0.8, 5.0), (0.8, 2.0))
"""Share of the size and frames a second: what is tried when a GIF comes out too large."""

_LEAST_PX = (640, 360)

Progress = Callable[[float], None]


def kinds_of(words: Sequence[str]) -> tuple[str, ...]:
    """The kinds of KINDS in these words, "gif,sheet" or one by one; none = a GIF. Raises BadInput."""
    kinds = [kind for word in words for kind in word.split(",") if kind] or ["gif"]
    for kind in kinds:
        if kind not in KINDS:
            near = nearest_word(kind, KINDS)
            raise BadInput(Problem("film", repr(kind), ", ".join(KINDS), near))
    return tuple(kind for kind in KINDS if kind in kinds)


def write_films(
    told: Told,
    folder: str | Path,
    kinds: Sequence[str] = ("gif",),
    progress: Progress | None = None,
    most_bytes: int = MOST_BYTES,
) -> tuple[list[Path], list[str]]:
    """Write race.gif, race.mp4 and the others of KINDS: the paths, and what had to be made smaller.

    Raises BadInput as `animate` does, and CannotWrite. Check: tests/journeys/test_film.py.
    """
    stem, folder = ("races" if told.beside else "race"), Path(folder)
    if "mp4" in kinds:
        check_encoder(folder / f"{stem}.mp4")
    written: list[Path] = []
    notes: list[str] = []
    for number, kind in enumerate(kinds):
        step = partial(_step, progress, number, len(kinds))
        if kind == "gif":
            notes += _small_gif(told, folder / f"{stem}.gif", step, most_bytes)
            written.append(folder / f"{stem}.gif")
        elif kind == "mp4":
            smooth = replace(told.view, frames_per_s=FILM_FRAMES_PER_S)
            written.append(write_mp4(told.show(smooth), folder / f"{stem}.mp4", step))
        elif kind == "clip":
            notes += _small_gif(upright(told), folder / f"{stem}_clip.gif", step, most_bytes)
            written.append(folder / f"{stem}_clip.gif")
        elif kind == "sheet":
            written += write_sheet(told, folder / f"{stem}_sheet.png")
        elif kind == "share":
            written.append(write_share(told, folder / f"{stem}_share.png"))
        else:
            telling, path = told.telling, folder / f"{stem}_lost.png"
            losing, whom = telling.losing, telling.followed
            written.append(write_where_lost(losing, whom, telling.units, path))
    return written, notes


def upright(told: Told) -> Told:
    """The same for a phone held upright: CLIP_S long, one race only."""
    wide, high = CLIP_PX
    view = replace(told.view, length_s=CLIP_S, speed=None, width_px=wide, height_px=high)
    return replace(told, beside=None, view=view)


def _step(progress: Progress | None, number: int, count: int, share: float) -> None:
    if progress:
        progress((number + share) / count)


def _small_gif(told: Told, path: Path, progress: Progress, most_bytes: int) -> list[str]:
    """The GIF as it was asked for; where it is larger than may be, lighter ones are tried."""
    if write_gif(told.show(told.view), path, progress, most_bytes):
        return []
    for view in _lighter(told.view):
        if write_gif(told.show(view), path, progress, most_bytes):
            size = f"{view.width_px} x {view.height_px} pixels"
            words = f"{size} and {view.frames_per_s:g} frames a second"
            return [f"{path.name}: {words}, so that it stays below {most_bytes / 1e6:g} MB"]
    write_gif(told.show(view), path, progress)
    size_mb = path.stat().st_size / 1e6
    return [f"{path.name}: {size_mb:.1f} MB, more than {most_bytes / 1e6:g}; show fewer seconds"]


def _lighter(view: View) -> Iterator[View]:
    """The same view with fewer frames, then smaller too."""
    for share, rate in _LIGHTER:
        way = -1 if view.height_px > view.width_px else 1
        wide, high = (
            min(side, max(round(side * share), least))
            for side, least in zip((view.width_px, view.height_px), _LEAST_PX[::way], strict=True)
        )
        rate = min(rate, view.frames_per_s)
        yield replace(view, width_px=wide, height_px=high, frames_per_s=rate)
