"""The sheet of one squad: its figures, and the files made of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.sheet.charts import box_png, sheet_on
from simrun.answers.sheet.page import page_of
from simrun.answers.sheet.sheet_races import SheetRaces
from simrun.answers.sheet.sheet_records import SheetFigures
from simrun.answers.sheet.sheet_tables import tables_of
from simrun.answers.sheet.words import sentence_of, text_of, title_of
from simrun.answers.to_watch import to_watch
from simrun.base.csv import write_csv
from simrun.base.writing import write_bytes
from simrun.measure.left_out import LeftOut
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pictures.charts.sheet_paper import PAPERS
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas

STORE = "sheet_races.db"


@dataclass(frozen=True)
class SheetResult(OfRaces):
    """One squad's sheet."""

    day: Scenario
    found: SheetFigures
    raced: SheetRaces
    folder: Path
    units: str
    left_out: LeftOut | None = None

    @property
    def subject(self) -> str:
        """Whose sheet, of which race?"""
        return title_of(self.found)

    @property
    def sentence(self) -> str:
        """The plan in one sentence."""
        return sentence_of(self.found)

    @property
    def text(self) -> str:
        """The sentence, and every mark."""
        return text_of(self.found)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """sheet, sheet_marks, sheet_box, sheet_company, sheet_seen."""
        return tables_of(self.found)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races it rests on, and how long the course is."""
        return {"races": self.found.races, "length_m": self.day.strip.length_m}

    def picture(self) -> Figure:
        """The box with the names in their rows."""
        return to_watch(Figure(box_png(self.found), self.found.stand.team), self.day)

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """sheet_a4.pdf, sheet_letter.pdf, sheet.html and the tables; sheet_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        written = [write_csv(table, where / f"{name}.csv") for name, table in self.tables.items()]
        for paper in PAPERS:
            sheet = sheet_on(self.found, paper).pdf()
            written.append(write_bytes(where / f"sheet_{paper.lower()}.pdf", sheet))
        page = page_of(self.found, self.picture())
        written.append(write_page(page.noting(self.foot), where / "sheet.html"))
        return [*written, self.folder / STORE]
