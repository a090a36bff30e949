"""What was found out in one race."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.kind import OfDay, Progress
from simrun.answers.race.charts import loss_chart
from simrun.answers.race.page import page_of
from simrun.answers.race.race_tables import race_tables, write_tables
from simrun.answers.race.words import (
    PICTURE_ALT,
    Told,
    moments_of,
    not_drawn,
    sentence_of,
    text_of,
    title_of,
)
from simrun.base.errors import SimrunError
from simrun.base.writing import written_together
from simrun.measure.left_out import left_out_of
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.frame import write_page
from simrun.pages.left_out_words import left_out_words
from simrun.pages.page import Figure
from simrun.pictures.film.films import write_films
from simrun.pictures.film.pair import Told as Filmed
from simrun.pictures.ink.view import View
from simrun.pictures.replay.replay_page import write_page as write_replay
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording
from simrun.state.recording_file import save as save_recording

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]


@dataclass(frozen=True)
class RaceResult(OfDay):
    """One race. view, follow: what its pictures show; gif, page: is there a race.gif, a replay.html?

    front_adds_s (N, C): of a race for places, as of `trials.as_raced.front_adds_s`; None: nobody races.
    """

    recording: Recording
    folder: Path
    units: str
    view: View = field(default_factory=View)
    follow: str | None = None
    gif: bool = True
    page: bool = False
    front_adds_s: Array | None = field(default=None, repr=False, compare=False)
    _notes: list[str] = field(default_factory=list, repr=False, compare=False)

    @property
    def day(self) -> Scenario:  # type: ignore[override]
        """The race day."""
        return self.recording.scenario

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """loss, boxes, lines, boxes_lines; openings and left of a race for places; finish, teams and carried
        where the race reaches the finish."""
        return race_tables(self.recording, self.front_adds_s)

    @cached_property
    def _told(self) -> Told:
        return Told(self.recording, self.tables, self.units)

    @property
    def sentence(self) -> str:
        """What our team lost by the last mark, and to what; without a team of ours, how the boxes differ."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence, who led where, what boxes and lines cost, our team, and the finish."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """Which seed, how many runners, to which mark."""
        marks = self.recording.strip.checkpoints
        seed, runners = self.recording.seed, len(self.recording.roster)
        return {"seed": seed, "runners": runners, "until": marks[-1].name}

    @cached_property
    def missing(self) -> str:
        """Who did not reach the last mark."""
        return left_out_words(left_out_of(self.recording))

    @property
    def notes(self) -> Sequence[str]:
        """What the picture had to do without, once it is written."""
        return tuple(self._notes)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """A CSV a table, recording.npz, race.html, race.gif and replay.html: all of this race, or none.

        A picture or a page that cannot be made, for whatever reason, is told in the notes; the finished race
        is kept. Stopped while drawing, it is kept too. Raises CannotWrite.
        """
        where = Path(folder) if folder else self.folder
        stopped = None
        self._notes.clear()
        with written_together(where) as beside:
            files = write_tables(self.tables, beside)
            files.append(save_recording(self.recording, beside / "recording.npz"))
            for name, draw in self._drawings(progress).items():
                try:
                    files += draw(beside)
                except KeyboardInterrupt as stop:
                    stopped = stop
                    break
                except Exception as wrong:
                    self._notes.append(not_drawn(name, _reason(wrong, beside)))
        if stopped:
            raise stopped
        return [where / file.name for file in files]

    def _drawings(self, progress: Progress | None) -> dict[str, Callable[[Path], list[Path]]]:
        """What is drawn of the race, by the file's name; each is told the folder."""
        drawings: dict[str, Callable[[Path], list[Path]]] = {"race.html": self._page}
        if self.page:
            drawings["replay.html"] = self._replay
        if self.gif:
            drawings["race.gif"] = lambda folder: self._picture(folder, progress)
        return drawings

    def _picture(self, folder: Path, progress: Progress | None) -> list[Path]:
        filmed = Filmed(self.recording, None, self.follow, self.view)
        written, notes = write_films(filmed, folder, ("gif",), progress)
        self._notes.extend(notes)
        return written

    def _page(self, folder: Path) -> list[Path]:
        """race.html; only where replay.html was asked for do links lead there."""
        page = page_of(self._told, self.sentence, self.picture()).noting(self.missing)
        return [write_page(page, folder / "race.html")]

    def _replay(self, folder: Path) -> list[Path]:
        whom: dict[str, Any] = {"follow": self.follow, "units": self.units}
        return [write_replay(self.recording, folder / "replay.html", note=LEFT_OUT, **whom)]

    def picture(self) -> Figure:
        """What the boxes lost, with links to the moments that decide where a replay lies beside."""
        moments = moments_of(self._told, self.follow) if self.page else ()
        chart = loss_chart(
            self.tables["boxes"], self._told.last, title_of(self._told), self.our_box
        )
        return Figure(chart, PICTURE_ALT, moments=moments)

    @property
    def our_box(self) -> int | None:
        """In which box did our team stand?"""
        return self._told.our_box


def _reason(wrong: Exception, folder: Path) -> str:
    """Why it was not drawn, on one line that names no folder of ours."""
    said = str(wrong) if isinstance(wrong, SimrunError) else f"{type(wrong).__name__} {wrong}"
    lines = said.replace(f"{folder}{os.sep}", "").split("\n")
    return " ".join(lines)
