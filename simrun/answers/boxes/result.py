"""What was found out about every box."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.boxes.cells import cells
from simrun.answers.boxes.charts import box_chart
from simrun.answers.boxes.page import page_of
from simrun.answers.boxes.sample import ANY_LINE, Sample
from simrun.answers.boxes.words import Told, sentence_of, text_of, title_of
from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.base.csv import write_csv
from simrun.base.writing import write_bytes
from simrun.measure.left_out import LeftOut
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pictures.charts.start_map import start_map
from simrun.scenario.scenario import Scenario
from simrun.trials.stopping import Settled

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class BoxesResult(OfRaces):
    """Samples by question, the first of every team. settled: how a study ended that stopped once clear."""

    day: Scenario
    samples: tuple[Sample, ...]
    folder: Path
    units: str
    settled: Settled | None = None
    left_out: LeftOut | None = None

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """boxes: a row a question, box, line and checkpoint, as `cells` says."""
        import pandas as pd

        return {"boxes": pd.concat(self._cells, ignore_index=True)}

    @cached_property
    def _cells(self) -> list[pandas.DataFrame]:
        return [cells(sample, self.day) for sample in self.samples]

    @cached_property
    def _told(self) -> Told:
        return Told(self.day, self.samples, tuple(self._cells), self.settled, self.units)

    @property
    def sentence(self) -> str:
        """What our box costs, or which box costs least."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence and the boxes at the last mark."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races, to which mark."""
        first = self.samples[0]
        return {"races": len(first.box), "until": first.checkpoints[-1]}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """boxes.csv, boxes.png, boxes_map.png, boxes.html; boxes_races.db stands there already."""
        where = Path(folder) if folder else self.folder
        written = [write_csv(self.table, where / "boxes.csv")]
        figures = self.pictures()
        for name, figure in zip(("boxes.png", "boxes_map.png"), figures, strict=True):
            written.append(write_bytes(where / name, figure.png))
        page = page_of(self._told, self.sentence, figures).noting(self.missing)
        return [*written, write_page(page, where / "boxes.html"), self.folder / "boxes_races.db"]

    def pictures(self) -> tuple[Figure, Figure]:
        """The chart by box and the map of the line, at the last mark."""
        told = self._told
        last = self._cells[0]
        last = last[(last.checkpoint == told.last) & (last.line == ANY_LINE)]
        by_box = dict(zip(last["box"].tolist(), last["lost_s_mean"].tolist(), strict=True))
        chart = box_chart(last, title_of(told), told.our_box)
        line = start_map(self.day, by_box, title_of(told))
        return (
            Figure(chart, "Seconds and places lost by box"),
            Figure(line, "The start line, each box colored by the seconds it lost"),
        )
