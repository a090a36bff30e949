"""What was found out about somebody down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.disturb.charts import ripple_chart
from simrun.answers.disturb.held_up import Held, figures_of, table_of_delays
from simrun.answers.disturb.page import page_of
from simrun.answers.disturb.words import Told, missing_words, sentence_of, text_of
from simrun.answers.kind import OfDay, Progress
from simrun.answers.to_watch import to_watch
from simrun.base.csv import write_csv
from simrun.base.writing import write_bytes
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class DisturbResult(OfDay):
    """The delays of everybody in every race, with somebody down against nobody down."""

    day: Scenario
    held: Held
    folder: Path
    units: str

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """disturbance: a row a seed and runner."""
        return {"disturbance": table_of_delays(self.held)}

    @cached_property
    def _told(self) -> Told:
        return Told(self.day, self.held, figures_of(self.held), self.units)

    @property
    def sentence(self) -> str:
        """How many are held up, and how long the one held up longest."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence, what belongs to it, and the standing caution."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """Means with intervals, ranges, and whether the point lies where a recall is known."""
        return asdict(self._told.figures)

    @property
    def missing(self) -> str:
        """Who did not come past the point, with or without."""
        return missing_words(self.held)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """disturbance.html, disturbance.png and disturbance.csv."""
        where = Path(folder) if folder else self.folder
        figure = self.picture()
        return [
            write_page(
                page_of(self._told, figure).noting(self.missing), where / "disturbance.html"
            ),
            write_bytes(where / "disturbance.png", figure.png),
            write_csv(self.table, where / "disturbance.csv"),
        ]

    def picture(self) -> Figure:
        """Who was late by how much, and the point on the course."""
        chart = ripple_chart(self.day.strip, self.held, self.units)
        alt = "How much later every runner passed the point, and where it lies"
        return to_watch(Figure(chart, alt), self.day)
