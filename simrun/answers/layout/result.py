"""What was found out about start layouts, and its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress
from simrun.answers.layout.charts import pictures_of
from simrun.answers.layout.crew.crew_drawing import crew_sheets
from simrun.answers.layout.crew.crew_tables import stake_table
from simrun.answers.layout.crew.crew_words import tape_step_m
from simrun.answers.layout.fair.fairness import unfairness_s
from simrun.answers.layout.layout_found import Found
from simrun.answers.layout.layout_measures import crowd_table, table_of
from simrun.answers.layout.layout_rows import short_rows
from simrun.answers.layout.page import page_of
from simrun.answers.layout.words import more_words, sentence_of
from simrun.answers.of_races import OfRaces
from simrun.base.csv import write_csv
from simrun.base.writing import write_bytes
from simrun.measure.left_out import LeftOut
from simrun.measure.stakes import StakePlan, stake_plan
from simrun.pages.cautions import CAUTION
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import short_inputs_words, sure_figures
from simrun.pages.text import paragraphs, table_text
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas

STORE = "layout_races.db"


@dataclass(frozen=True)
class LayoutResult(OfRaces):
    """The present layout and those raced beside it."""

    day: Scenario
    found: Found
    folder: Path
    units: str
    left_out: LeftOut | None = None

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """layout: a row a layout and checkpoint, the present one first; layout_crowd: a row a layout and
        place; stakes: of the chosen one."""
        every = self.found.every()
        return {
            "layout": table_of(every),
            "layout_crowd": crowd_table(every),
            "stakes": stake_table(self.found.chosen()[1].day, self.stakes),
        }

    @cached_property
    def stakes(self) -> StakePlan:
        """Where the stakes of the chosen layout go."""
        return stake_plan(self.found.chosen()[1].day)

    @property
    def sentence(self) -> str:
        """Which layout is better and worse in nothing, or how fair the present one is."""
        return sentence_of(self.found, self.units)

    @property
    def text(self) -> str:
        """The sentence, the present and the chosen layout side by side, the caution."""
        sentences = [self.sentence, *more_words(self.found, self.units)]
        rows = table_text(short_rows(self.found, self.table, self.units))
        said = racing_words(day := self.found.scenario), short_inputs_words(day)
        return paragraphs(" ".join(sentences), rows, *said, CAUTION)

    @property
    def figures(self) -> Mapping[str, Any]:
        """The settings of the chosen layout and its spread between boxes."""
        values, sample = self.found.chosen()
        spread = unfairness_s(sample, self.found.at)
        known = spread.count > 1
        return {
            "races": len(self.found.seeds),
            "layouts": len(self.found.every()),
            "at": self.found.at,
            "chosen": values,
            "spread_s": spread.mean if known else None,
            "spread_range_s": sure_figures(spread),
        }

    def picture(self) -> Figure:
        """The first of the page's pictures: the layouts by what was varied."""
        return next(iter(pictures_of(self.found, self.table, self.units).values()))

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """layout.csv, layout_crowd.csv, stakes.csv, the pictures, the crew's sheets, layout.html."""
        where = Path(folder) if folder else self.folder
        written = [write_csv(self.tables[name], where / f"{name}.csv") for name in self.tables]
        pictures = pictures_of(self.found, self.table, self.units)
        written += [write_bytes(where / name, shown.png) for name, shown in pictures.items()]
        # The page's tapes are read in the page's units; those of stakes.csv to the centimetre.
        read = stake_plan(self.found.chosen()[1].day, tape_step_m(self.units))
        sheets = crew_sheets(self.found.chosen()[1].day, read, self.units)
        written += [write_bytes(where / name, sheet) for name, sheet in sheets.items()]
        page = page_of(self.found, self.table, read, pictures, self.units)
        page = page.noting(self.foot)
        return [*written, write_page(page, where / "layout.html"), self.folder / STORE]
