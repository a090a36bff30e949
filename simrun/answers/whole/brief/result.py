"""What was found out for a brief."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.boxes.pairs import Pairs, pairs_of
from simrun.answers.boxes.sample import first_mark, mark_names
from simrun.answers.finish.finish_ranges import team_ranges
from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.saving import save_answer
from simrun.answers.tactic.orders import the_team
from simrun.answers.to_watch import to_watch
from simrun.answers.whole.brief.arms import TOLD, Question
from simrun.answers.whole.brief.brief_rows import text_of
from simrun.answers.whole.brief.charts import plans_chart
from simrun.answers.whole.brief.page import page_of
from simrun.answers.whole.brief.words import Told, chart_title, sentence_of
from simrun.measure.finish import reaches_finish
from simrun.measure.left_out import LeftOut
from simrun.pages.page import Figure
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import judge_of, points_of
from simrun.trials.races import Outcome
from simrun.trials.statistics import single_range

if TYPE_CHECKING:
    import pandas

STORE = "brief_races.db"


@dataclass(frozen=True, eq=False)
class BriefResult(OfRaces):
    """Races by arm: (S,) each, the same seeds. second: the other plan's day, where two were asked about.

    unasked: how many questions there was no time for.
    """

    day: Scenario
    second: Scenario | None
    questions: tuple[Question, ...]
    outcomes: Mapping[str, tuple[Outcome, ...]]
    seeds: tuple[int, ...]
    folder: Path
    units: str
    minutes: float = 1.0
    left_out: LeftOut | None = None
    unasked: int = 0

    @cached_property
    def pairs(self) -> Mapping[Question, Pairs]:
        """What every question's arm brings against the other."""
        judge = judge_of(self.day, self.seeds)
        marks, scored = mark_names(self.day), reaches_finish(self.day.strip)
        return {
            q: pairs_of(
                marks,
                (self.outcomes[q.arm], self.outcomes[q.against]),
                self._ours,
                scored,
                judge,
            )
            for q in self.questions
        }

    @property
    def _ours(self) -> int:
        return next(i for i, team in enumerate(self.day.teams) if team.ours)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """brief: a row a question and checkpoint; brief_ours: a row a runner of ours and checkpoint;
        brief_teams: a row a team, as of `simrun finish`.
        """
        import pandas as pd

        rows = [
            row
            for q, pairs in self.pairs.items()
            for row in pairs.rows({"about": q.about, "arm": q.arm, "against": q.against})
        ]
        names = [team.name for team in self.day.teams]
        points = points_of(self.day, self.seeds)
        return {
            "brief": pd.DataFrame(rows),
            "brief_ours": self._runners(),
            "brief_teams": team_ranges(self.outcomes[TOLD], names, points),
        }

    def _runners(self) -> pandas.DataFrame:
        """Seconds and places of each of ours at every mark: the mean, and what eight of ten races brought."""
        import pandas as pd

        rows = []
        told = [(o, o.team_index == self._ours) for o in self.outcomes[TOLD]]
        time_s, place = (
            np.stack([getattr(o, column)[here] for o, here in told])
            for column in ("crossing_s", "place")
        )
        for i, person in enumerate(the_team(self.day, None).people):
            for c, mark in enumerate(mark_names(self.day)):
                row: dict[str, object] = {"runner": person.name, "checkpoint": mark}
                for name, values in (("time_s", time_s[:, i, c]), ("place", place[:, i, c])):
                    low, high = single_range(values)
                    mean = float(np.nanmean(values)) if np.isfinite(values).any() else np.nan
                    row |= {f"{name}_mean": mean, f"{name}_low": low, f"{name}_high": high}
                rows.append(row)
        return pd.DataFrame(rows)

    @cached_property
    def _told(self) -> Told:
        now_s = self._alone_s(TOLD)
        sooner = {q.arm: float(np.nanmean(now_s - self._alone_s(q.arm))) for q in self.questions}
        return Told(
            self.day,
            self.second,
            self.pairs,
            self.tables,
            mark_names(self.day)[self._mark],
            len(self.seeds),
            self.minutes,
            sooner,
            self.unasked,
        )

    def _alone_s(self, arm: str) -> NDArray[np.float64]:
        """When each of ours is where the start is told, alone from the best box: (S, n)."""
        outcomes = self.outcomes[arm]
        return np.stack([o.best_s[o.team_index == self._ours, self._mark] for o in outcomes])

    @property
    def _mark(self) -> int:
        return first_mark(self.day)

    @property
    def sentence(self) -> str:
        """Our box, the plan, the finish, what it hangs on; of two plans which is better."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence and its tables."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races an arm, and at which mark the start is told."""
        return {"races": len(self.seeds), "mark": self._told.mark, "arms": list(self.outcomes)}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """A CSV a table, brief.png and brief.html; brief_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        figure = self.picture()
        page = page_of(self._told, figure).noting(self.foot)
        return [*save_answer(where, "brief", self.tables, figure, page), self.folder / STORE]

    def picture(self) -> Figure:
        """What every arm changes, with its range."""
        title = chart_title(self._told)
        return to_watch(Figure(plans_chart(self._told.chart_rows, title), title), self._told.day)
