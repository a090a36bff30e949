"""What every box of a line costs, read off the handbook's model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.estimate.lessons import lessons_of
from simrun.answers.estimate.page import lessons_page, page_text
from simrun.answers.estimate.words import Estimated, sentence_of, text_of
from simrun.answers.kind import Progress, Result
from simrun.base.writing import write_text
from simrun.pages.frame import write_page
from simrun.trials.handbook.estimate_model import OUTPUTS, Costs, EstimateModel, model_folder
from simrun.trials.handbook.sampled_day import MARKS
from simrun.trials.handbook.told_figures import ToldFigures

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class EstimateResult(Result):
    """The costs of every box, and which is ours. same_engine: was the table made by the laws as they are?"""

    told: ToldFigures
    box: int
    costs: Costs
    model: EstimateModel
    folder: Path
    page: bool = False
    units: str = "metric"
    same_engine: bool = True

    @property
    def subject(self) -> str:
        """A line known by figures."""
        return "estimate"

    @property
    def file(self) -> str:
        """Nothing was read."""
        return ""

    @property
    def _said(self) -> Estimated:
        return Estimated(self.told, self.box, self.costs, self.units, self.same_engine, self.model)

    @property
    def sentence(self) -> str:
        """What our box costs by the throat, behind the turn and at one kilometre."""
        return sentence_of(self._said)

    @property
    def text(self) -> str:
        """The sentence, what it does not know, every box, the caution."""
        return text_of(self._said)

    @property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """estimate: a row a box and mark; against the average box.

        cost_s, cost_places with _low, _high: 90 % interval of the mean cost; p10_s, p90_s: between which
        eight of ten single runners lie; front_s: the front row against the box.
        """
        import pandas as pd

        rows = []
        for mark, name in enumerate(MARKS):
            for at in range(self.told.boxes):
                row: dict[str, Any] = {"box": at + 1, "mark": name}
                for what in OUTPUTS:
                    value = float(self.costs.values[what][at, mark])
                    row[what] = value
                    if what in self.costs.half:
                        half = float(self.costs.half[what][at, mark])
                        row |= {f"{what}_low": value - half, f"{what}_high": value + half}
                rows.append(row)
        return {"estimate": pd.DataFrame(rows)}

    @property
    def figures(self) -> Mapping[str, Any]:
        """What was told, what was not, what lies outside of the sample, and what the model is of."""
        return {
            "told": {key: value for key, value in asdict(self.told).items() if value is not None},
            "our_box": self.box,
            "not_told": list(self.told.unknown),
            "outside": [name for name, *_ in self.told.outside],
            "handbook": self.model.content["about"],
            "same_engine": self.same_engine,
        }

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """estimate.html and lessons.html where the page was asked for. Raises CannotWrite."""
        if not self.page and folder is None:
            return []
        where = Path(folder) if folder else self.folder
        text = page_text(self.told, self.box, self.model, self.units, self.same_engine)
        lessons = lessons_page(lessons_of(model_folder()))
        return [
            write_text(where / "estimate.html", text),
            write_page(lessons, where / "lessons.html"),
        ]
