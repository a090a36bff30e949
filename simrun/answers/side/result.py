"""What was found out about getting to the good side, and its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.saving import save_answer
from simrun.answers.side.charts import side_chart
from simrun.answers.side.page import page_of
from simrun.answers.side.side_found import SideFound, box_table, our_table, where_table
from simrun.answers.side.words import CHART_ALT, sentence_of, text_of
from simrun.answers.to_watch import to_watch
from simrun.measure.left_out import LeftOut
from simrun.pages.page import Figure
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas

STORE = "side_races.db"


@dataclass(frozen=True, eq=False)
class SideResult(OfRaces):
    """Who arrives on the good side, by box and by what ours were told."""

    day: Scenario
    found: SideFound
    folder: Path
    units: str
    left_out: LeftOut | None = None

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """side: a row a box; side_ours: an order to ours; side_where: a mark on the way."""
        tables = {"side": box_table(self.found)}
        if self.found.team is not None:
            tables |= {"side_ours": our_table(self.found), "side_where": where_table(self.found)}
        return tables

    @property
    def sentence(self) -> str:
        """Who of ours arrives, what crossing costs, where it is too late."""
        return sentence_of(self.found)

    @property
    def text(self) -> str:
        """The sentence, the first turn, and every box."""
        return text_of(self.found)

    @property
    def figures(self) -> Mapping[str, Any]:
        """Which side is good, where, and the last mark to be across by."""
        last = self.found.last_place
        return {
            "good": self.found.places.good,
            "narrowing": self.found.places.narrowing.name,
            "races": len(self.found.seeds),
            "last_place_m": None if last is None else last.at_m,
        }

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """A CSV a table, side.png and side.html; side_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        figure = self.picture()
        page = page_of(self.found, figure).noting(self.foot)
        return [*save_answer(where, "side", self.tables, figure, page), self.folder / STORE]

    def picture(self) -> Figure:
        """The share on the good side, a bar a box."""
        chart = side_chart(self.tables["side"], self.found.places.good)
        return to_watch(Figure(chart, CHART_ALT), self.found.day)
