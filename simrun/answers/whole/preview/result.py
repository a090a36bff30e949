"""The walk of one squad: its chapters, and the files made of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.sheet.result import STORE, SheetResult
from simrun.answers.sheet.sheet_records import Band
from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.looked_at import Pictures
from simrun.answers.whole.preview.page import walk_of
from simrun.answers.whole.preview.squads import Squad
from simrun.answers.whole.preview.to_go import STORE as KICK_STORE
from simrun.answers.whole.preview.words import (
    do_said,
    headline_of,
    page_title,
    text_of,
    title_words,
)
from simrun.base.csv import write_csv
from simrun.measure.left_out import LeftOut
from simrun.pages.walk import Walk, write_walk
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class PreviewResult(OfRaces):
    """A walk of one squad or several. recording: the race of which five seconds are shown."""

    day: Scenario
    squads: tuple[Squad, ...]
    recording: Recording
    pictures: Pictures
    folder: Path
    units: str
    left_out: LeftOut | None = None
    talk: int | None = None

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
        return text_of(self.sheet.found, self.squads[0].chapters, self.squads[0].to_go)

    @property
    def sheet(self) -> SheetResult:
        """The first squad's sheet."""
        return self.squads[0].sheet

    @property
    def chapters(self) -> tuple[Chapter, ...]:
        """The first squad's chapters."""
        return self.squads[0].chapters

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """preview: a row a team and chapter; preview_sides: who walks and who gets over, a row a turn and
        narrowing; preview_kick: what is won on the last metres; and the tables of the first team's sheet."""
        import pandas as pd

        rows = [row for squad in self.squads for row in chapter_rows(squad)]
        kick = [row for squad in self.squads for row in kick_rows(squad)]
        sides = [row for squad in self.squads for row in side_rows(squad)]
        tables = {"preview": pd.DataFrame(rows)}
        tables |= {"preview_sides": pd.DataFrame(sides)} if sides else {}
        tables |= {"preview_kick": pd.DataFrame(kick)} if kick else {}
        return {**tables, **self.sheet.tables}

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races it rests on, and which of them is shown."""
        return {"races": self.sheet.found.races, "seed": self.recording.seed}

    @cached_property
    def walk(self) -> Walk:
        """The page."""
        return replace(walk_of(self.squads, self.recording, self.pictures), minutes=self.talk)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """preview.html, preview.csv, preview_sides.csv, preview_kick.csv; their races stand there already."""
        where = Path(folder) if folder else self.folder
        own = {name: table for name, table in self.tables.items() if name.startswith("preview")}
        written = [write_csv(table, where / f"{name}.csv") for name, table in own.items()]
        walk = replace(self.walk, notes=(self.foot, *self.walk.notes))
        written.append(write_walk(walk, where / "preview.html"))
        kept = [self.folder / name for name in (STORE, KICK_STORE)]
        return [*written, *(path for path in kept if path.exists())]


def chapter_rows(squad: Squad) -> list[dict[str, Any]]:
    """A row a chapter of one squad."""
    length_m = squad.figures.day.strip.length_m
    return [
        {
            "team": squad.team,
            "chapter": number,
            "place": title_words(chapter, "metric"),
            "at_m": chapter.mark.at_m,
            "to_go_m": length_m - chapter.mark.at_m,
            "width_m": chapter.ahead.width_m,
            "narrowest_m": chapter.ahead.narrowest_m,
            **_band("first_s", chapter.first_s),
            **_band("last_s", chapter.last_s),
            "do": " ".join(said.text for said in do_said(chapter, squad.figures)),
            "own": chapter.place.note if chapter.place else "",
        }
        for number, chapter in enumerate(squad.chapters, start=1)
    ]


def side_rows(squad: Squad) -> list[dict[str, Any]]:
    """A row a turn or narrowing, in the order of the course: who walks in each third of its width."""
    told = [walks for there in squad.sides.values() for walks in there.walks]
    return [
        {
            "team": squad.team,
            "place": walks.gate.name,
            "lap": walks.gate.lap,
            "kind": "turn" if walks.gate.inside else "narrowing",
            **{
                key: value
                for name, band in zip(("first", "middle", "last"), walks.thirds, strict=True)
                for key, value in _band(f"walk_{name}", band).items()
            },
            "walk": walks.all_over.middle,
            **walks.differs.columns("last_less_first"),
            "is_seen": walks.is_seen,
            "beyond_chance": walks.beyond_chance,
        }
        for walks in told
    ]


def _band(name: str, band: Band | None) -> dict[str, float]:
    middle, low, high = (band.middle, band.low, band.high) if band else (np.nan, np.nan, np.nan)
    return {name: middle, f"{name}_low": low, f"{name}_high": high}


def kick_rows(squad: Squad) -> list[dict[str, Any]]:
    """A row a distance to go and way of running it, of one squad; none where the start is not over."""
    return [
        {"team": squad.team, "to_go_m": one.far_m, "place": one.mark.name, **row}
        for one in squad.to_go
        for row in (one.kick, one.plan)
        if row
    ]
