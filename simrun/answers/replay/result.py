"""A recorded race, ready to be shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress, Result
from simrun.answers.replay.words import OTHER_ENGINE, beat_rows, sentence_of, text_of
from simrun.pages.cautions import LEFT_OUT
from simrun.pictures.film.films import write_films
from simrun.pictures.film.pair import Told
from simrun.pictures.replay.replay_page import write_page

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class ReplayResult(Result):
    """What is shown of one race or two. source: the recording's file. kinds: of `films.KINDS`."""

    told: Told
    folder: Path
    source: str
    kinds: tuple[str, ...] = ("gif",)
    page: bool = False
    _notes: list[str] = field(default_factory=list, repr=False, compare=False)

    @property
    def units(self) -> str:  # type: ignore[override]
        """What the pictures speak."""
        return self.told.telling.units

    @property
    def subject(self) -> str:
        """The name of the race day."""
        return self.told.recording.scenario.name

    @property
    def file(self) -> str:
        """The recording's file."""
        return self.source

    @property
    def sentence(self) -> str:
        """Which race is shown, and whom the picture follows."""
        return sentence_of(self.told)

    @property
    def text(self) -> str:
        """The sentence, and what is told in the picture."""
        return text_of(self.told)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """moments: the second, the place and the words of everything that the picture tells."""
        import pandas as pd

        return {
            "moments": pd.DataFrame(
                beat_rows(self.told), columns=["t_s", "at", "who", "see", "lost"]
            )
        }

    @property
    def figures(self) -> Mapping[str, Any]:
        """Which seed."""
        return {"seed": self.told.recording.seed, "runners": len(self.told.recording.roster)}

    @property
    def notes(self) -> Sequence[str]:
        """What had to be made smaller, once it is written."""
        ran = (self.told.recording, self.told.beside)
        old = any(recording and not recording.is_of_this_engine for recording in ran)
        return (*((OTHER_ENGINE,) if old else ()), *self._notes)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """replay.html, race.gif, race.mp4, race_sheet.png and others of `films.KINDS`: what was asked for.

        Of two races the films are called races. Raises BadInput, CannotWrite.
        """
        where, told = Path(folder) if folder else self.folder, self.told
        self._notes.clear()
        written = []
        if self.page:
            whom: dict[str, Any] = {"other": told.beside, "follow": told.follow}
            whom["units"] = self.units
            path = where / "replay.html"
            written.append(write_page(told.recording, path, note=LEFT_OUT, **whom))
        if self.kinds:
            films, notes = write_films(told, where, self.kinds, progress)
            self._notes.extend(notes)
            written += films
        return written
