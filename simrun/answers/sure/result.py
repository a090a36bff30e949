"""Three answers with both of their ranges, and what they hang on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.kind import Progress
from simrun.answers.of_races import OfStudy
from simrun.answers.sure.page import page_of
from simrun.answers.sure.words import FINE_S, Told, sentence_of, text_of
from simrun.base.csv import write_csv
from simrun.pages.frame import write_page
from simrun.pages.sure_words import sure_figures
from simrun.scenario.scenario import Scenario
from simrun.trials.hanging.total_effects import Effect
from simrun.trials.how_sure import Sure, planned

if TYPE_CHECKING:
    import pandas

STORE = "sure_races.db"


@dataclass(frozen=True)
class SureResult(OfStudy):
    """judged: by answer, with inputs drawn and with inputs fixed. hangs: by answer, the groups."""

    day: Scenario
    team: str
    judged: Mapping[str, tuple[Sure, Sure]]
    hangs: Mapping[str, list[Effect]]
    races: int
    rows: int
    folder: Path
    units: str

    @property
    def _told(self) -> Told:
        return Told(self.day, self.team, self.judged, self.hangs, self.races, self.rows)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """sure: a row an answer; hangs_on: a row an answer and group of inputs, the largest share first."""
        import pandas as pd

        rows = [
            {
                "answer": key,
                **sure_figures(drawn),
                "fixed_mean": fixed.mean,
                "fixed_low": fixed.low,
                "fixed_high": fixed.high,
                "inputs_variance": drawn.parts.inputs if drawn.parts else float("nan"),
                "chance_variance": drawn.parts.chance if drawn.parts else float("nan"),
                "planned_seeds": planned(drawn.parts, fine=FINE_S).seeds
                if drawn.parts
                else float("nan"),
            }
            for key, (drawn, fixed) in self.judged.items()
        ]
        groups = [
            {
                "answer": key,
                "group": effect.name,
                "share_alone": effect.alone,
                "share_total": effect.total,
                "total_low": effect.low,
                "total_high": effect.high,
            }
            for key, effects in self.hangs.items()
            for effect in effects
        ]
        return {
            "sure": pd.DataFrame(rows),
            **({"hangs_on": pd.DataFrame(groups)} if groups else {}),
        }

    @property
    def sentence(self) -> str:
        """Which of the three answers can be told, and what the others wait for."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence, the ranges side by side, and what every answer hangs on."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races and rows."""
        return {"team": self.team, "races": self.races, "rows": self.rows}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """sure.csv, hangs_on.csv and sure.html; sure_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        written = [write_csv(table, where / f"{name}.csv") for name, table in self.tables.items()]
        page = write_page(page_of(self._told).noting(self.foot), where / "sure.html")
        return [*written, page, self.folder / STORE]
