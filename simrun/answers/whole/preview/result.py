"""The walk of one squad: its chapters, and the files made of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.sheet.result import STORE, SheetResult
from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.page import Pictures, walk_of
from simrun.answers.whole.preview.to_go import STORE as KICK_STORE
from simrun.answers.whole.preview.to_go import ToGo
from simrun.answers.whole.preview.words import (
    do_said,
    headline_of,
    page_title,
    text_of,
    title_words,
)
from simrun.base.csv import write_csv
from simrun.measure.left_out import LeftOut
from simrun.pages.text import paragraphs
from simrun.pages.walk import Walk, write_walk
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class PreviewResult(OfRaces):
    """One squad's walk. sheet: its figures; recording: the race of which five seconds are shown."""

    day: Scenario
    sheet: SheetResult
    chapters: tuple[Chapter, ...]
    recording: Recording
    pictures: Pictures
    to_go: tuple[ToGo, ...]
    folder: Path
    units: str
    left_out: LeftOut | None = None

    @property
    def subject(self) -> str:
        """Whose walk, through which course?"""
        return page_title(self.sheet.found)

    @property
    def sentence(self) -> str:
        """The plan in one sentence: that of the sheet."""
        return headline_of(self.sheet.found)

    @property
    def text(self) -> str:
        """The sentence, and every chapter."""
        return paragraphs(text_of(self.sheet.found, self.chapters), self.missing)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """preview: a row a chapter; and the tables of the sheet."""
        import pandas as pd

        rows = [
            {
                "chapter": number,
                "place": title_words(chapter, "metric"),
                "at_m": chapter.mark.at_m,
                "to_go_m": self.day.strip.length_m - chapter.mark.at_m,
                "width_m": chapter.ahead.width_m,
                "narrowest_m": chapter.ahead.narrowest_m,
                "do": " ".join(said.text for said in do_said(chapter, self.sheet.found)),
                "own": chapter.place.note if chapter.place else "",
            }
            for number, chapter in enumerate(self.chapters, start=1)
        ]
        return {"preview": pd.DataFrame(rows), **self.sheet.tables}

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races it rests on, and which of them is shown."""
        return {"races": self.sheet.found.races, "seed": self.recording.seed}

    @cached_property
    def walk(self) -> Walk:
        """The page."""
        return walk_of(self.sheet.found, self.chapters, self.recording, self.pictures, self.to_go)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """preview.html and preview.csv; sheet_races.db and preview_races.db stand there already."""
        where = Path(folder) if folder else self.folder
        written = [write_csv(self.table, where / "preview.csv")]
        written.append(write_walk(self.walk, where / "preview.html"))
        return [*written, self.folder / STORE, *([self.folder / KICK_STORE] if self.to_go else [])]
