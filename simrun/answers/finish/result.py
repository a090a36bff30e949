"""What was found out about the finish."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.finish.against_results import by_place, by_stretch, unknown_columns
from simrun.answers.finish.charts import points_chart
from simrun.answers.finish.finish_ranges import our_ranges, racing_ranges, team_ranges
from simrun.answers.finish.page import page_of
from simrun.answers.finish.words import Told, sentence_of, shown_teams, text_of
from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.to_watch import to_watch
from simrun.base.csv import write_csv
from simrun.measure.left_out import LeftOut
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.runners.results import Results
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import points_of
from simrun.trials.races import Outcome
from simrun.trials.statistics import estimate

if TYPE_CHECKING:
    import pandas

STORE = "finish_races.db"


@dataclass(frozen=True)
class FinishResult(OfRaces):
    """Races to the finish. results: last year's, where they were given."""

    day: Scenario
    outcomes: tuple[Outcome, ...]
    folder: Path
    units: str
    results: Results | None = None
    left_out: LeftOut | None = None
    seeds: tuple[int, ...] = ()

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """finish_teams; finish_ours where a team is ours; where last year's were given finish_results, a
        row a mark and place, and finish_stretches, a row a stretch and third of the field.
        """
        names = [team.name for team in self.day.teams]
        points = points_of(self.day, self.seeds)
        tables = {"finish_teams": team_ranges(self.outcomes, names, points)}
        if self.day.our_team:
            tables["finish_ours"] = our_ranges(self.outcomes, self.day, points)
        if self.results is not None:
            beside = (self.outcomes, self._marks, self.results, points)
            tables |= {"finish_results": by_place(*beside), "finish_stretches": by_stretch(*beside)}
        return tables

    @property
    def _marks(self) -> list[str]:
        return [mark.name for mark in self.day.strip.checkpoints]

    @cached_property
    def _told(self) -> Told:
        unknown = unknown_columns(self._marks, self.results) if self.results else {}
        raced = self.day.our_team and self.day.field.racing == "on"
        racing = estimate(racing_ranges(self.outcomes, self.day)) if raced else None
        return Told(self.day, len(self.outcomes), self.tables, unknown, racing, self.units)

    @property
    def sentence(self) -> str:
        """Where our team places and with how many points; without a team of ours, which team leads."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence, the team scores, our runners, and last year's beside them."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races."""
        return {"races": len(self.outcomes)}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """A CSV a table, and finish.html; finish_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        written = [write_csv(table, where / f"{name}.csv") for name, table in self.tables.items()]
        page = page_of(self._told, self.picture()).noting(self.foot)
        return [*written, write_page(page, where / "finish.html"), self.folder / STORE]

    def picture(self) -> Figure:
        """Points by team, ours in its own color."""
        chart = points_chart(shown_teams(self._told), self.day.our_team)
        alt = "Points by team: the average, and what eight races in ten brought"
        return to_watch(Figure(chart, alt), self.day, self.day.strip.checkpoints[-1].name)
