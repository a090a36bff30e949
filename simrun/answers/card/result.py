"""What was found out about passing on every stretch of the course."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.card.card_races import Timed
from simrun.answers.card.charts import bands_of, map_picture, sheet_of
from simrun.answers.card.page import page_of
from simrun.answers.card.words import Told, foot_of, sentence_of, text_of, told
from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.to_watch import to_watch
from simrun.base.csv import write_csv
from simrun.base.errors import BadInput
from simrun.base.writing import write_bytes, write_text
from simrun.course.tracks.track_drawing import to_gpx
from simrun.measure.left_out import LeftOut
from simrun.measure.passing import Passing
from simrun.measure.stretches import Stretch, at_most
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import short_inputs_words
from simrun.pages.text import paragraphs
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas

STORE = "card_races.db"

MOST_STRETCHES = 12
"""Nobody keeps more in mind; and so many sentences are readable on one sheet."""


@dataclass(frozen=True)
class CardResult(OfRaces):
    """Races timed at the ends of every stretch and between. paper: of the PDF, "a4" or "letter"."""

    day: Scenario
    stretches: tuple[Stretch, ...]
    timed: Timed
    stations: tuple[float, ...]
    folder: Path
    units: str
    paper: str
    left_out: LeftOut | None = None

    @cached_property
    def rows(self) -> tuple[Told, ...]:
        """Every stretch with what the races say of it, its word and its note."""
        shown = at_most(self.stretches, MOST_STRETCHES, self._unlike)
        passings = [self._passing(stretch) for stretch in shown]
        return told(shown, passings, self.units, self.timed.points)

    def _passing(self, stretch: Stretch) -> Passing:
        return self.timed.passing(stretch.from_m, stretch.to_m)

    def _unlike(self, one: Stretch, other: Stretch) -> float:
        """How much would be lost if these two were told as one? Another word, another share, a long way."""
        first, second = self._passing(one), self._passing(other)
        shares = np.nan_to_num([first.open_share, second.open_share], nan=0.5)
        long = (other.to_m - one.from_m) / self.day.strip.length_m
        return float((first.word != second.word) + abs(shares[0] - shares[1]) + long)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """card: a row a stretch, plain numbers, metres and seconds."""
        return {"card": _table(self.rows)}

    @property
    def sentence(self) -> str:
        """Where to move up and where to sit."""
        return sentence_of(self.rows)

    @property
    def text(self) -> str:
        """The sentence, and the note for every stretch."""
        said = racing_words(self.day), short_inputs_words(self.day)
        return paragraphs(text_of(self.rows, self.units), *said)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races, how long the course."""
        return {"races": self._races, "length_m": self.day.strip.length_m}

    @property
    def _races(self) -> int:
        return len(self.timed.races)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """card.csv, card.pdf, card.html, and course.gpx where the course lies somewhere on the globe.

        card_races.db stands there already.
        """
        where = Path(folder) if folder else self.folder
        bands = bands_of(self.timed, self.stretches, self.stations)
        foot = " ".join(part for part in (self.missing, foot_of(self.day, self._races)) if part)
        how = (self.units, self.paper, self.sentence, foot)
        drawn = map_picture(self.day, bands, self.units)
        course = to_watch(Figure(drawn, "Map and hill of the course"), self.day)
        page = page_of(self.day, self.rows, (self.units, self._races), course)
        page = page.noting(self.foot)
        return [
            write_csv(self.table, where / "card.csv"),
            write_bytes(where / "card.pdf", sheet_of(self.day, bands, self.rows, how).pdf()),
            write_page(page, where / "card.html"),
            *_gpx(self.day, where),
            self.folder / STORE,
        ]


def _table(rows: tuple[Told, ...]) -> pandas.DataFrame:
    import pandas as pd

    return pd.DataFrame(
        {
            "stretch": row.stretch.name,
            "lap": row.stretch.lap,
            "from_m": row.stretch.from_m,
            "to_m": row.stretch.to_m,
            "narrowest_m": row.stretch.width_m,
            "climb_m": row.stretch.climb_m,
            "passes_per_100_m": row.passing.passes_per_100_m,
            "wished_per_100_m": row.passing.wished_per_100_m,
            "wished_made_share": row.passing.open_share,
            "traffic_s": row.passing.mean_traffic_s,
            **row.traffic_ranges,
            "word": row.word,
            "note": row.note,
        }
        for row in rows
    )


def _gpx(scenario: Scenario, where: Path) -> list[Path]:
    """The course for a watch; one that lies nowhere on the globe has none."""
    try:
        text = to_gpx(scenario.strip, scenario.name)
    except BadInput:
        return []
    return [write_text(where / "course.gpx", text)]
