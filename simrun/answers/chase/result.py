"""What was found out about running lost seconds back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.chase.back_ranges import back_ranges, kick_ranges, points_in
from simrun.answers.chase.charts import back_chart
from simrun.answers.chase.page import page_of
from simrun.answers.chase.words import CHART_ALT, Told, sentence_of, text_of
from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.saving import save_answer
from simrun.answers.to_watch import to_watch
from simrun.measure.left_out import LeftOut
from simrun.pages.page import Figure
from simrun.scenario.scenario import Scenario
from simrun.trials.run_back import Marks

if TYPE_CHECKING:
    import pandas

STORE = "chase_races.db"


@dataclass(frozen=True, eq=False)
class ChaseResult(OfRaces):
    """Races in which our team is late at the gun. lost, kick: a row a race, as of `trials.run_back`."""

    day: Scenario
    marks: Marks
    lost: pandas.DataFrame
    kick: pandas.DataFrame
    folder: Path
    units: str
    left_out: LeftOut | None = None

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """chase: a row an amount in hand, delay and way; chase_kick: to go; chase_races: race by race."""
        points = points_in(self.day, self.lost)
        tables = {"chase": back_ranges(self.lost, points)}
        if len(self.kick):
            tables["chase_kick"] = kick_ranges(self.kick, points)
        return tables | {"chase_races": self.lost}

    @cached_property
    def _told(self) -> Told:
        return Told(self.day, self.marks, self.tables, self.units)

    @property
    def sentence(self) -> str:
        """How many of the seconds lost are run back, beside holding the plan."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence, by delay and way, and the kick."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races an arm, and where the start is over."""
        return {"races": self._told.races, "start_m": self.marks.start_m}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """A CSV a table, chase.png and chase.html; chase_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        figure = self.picture()
        page = page_of(self._told, figure).noting(self.foot)
        return [*save_answer(where, "chase", self.tables, figure, page), self.folder / STORE]

    def picture(self) -> Figure:
        """What is left at the finish of what was lost at the gun, a line a way."""
        return to_watch(Figure(back_chart(self._told.main_rows), CHART_ALT), self._told.day)
