"""What was found out about every box."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.boxes.cells import cells
from simrun.answers.boxes.charts import box_chart
from simrun.answers.boxes.cost_words import Told, sentence_of
from simrun.answers.boxes.ours_elsewhere import OursElsewhere
from simrun.answers.boxes.page import page_of
from simrun.answers.boxes.pairs import NAMES
from simrun.answers.boxes.sample import Sample, first_mark
from simrun.answers.boxes.words import map_words, text_of, title_of
from simrun.answers.kind import Progress
from simrun.answers.of_races import OfRaces
from simrun.answers.to_watch import GUN, to_watch
from simrun.base.csv import write_csv
from simrun.base.writing import write_bytes
from simrun.measure.left_out import LeftOut
from simrun.pages.frame import write_page
from simrun.pages.page import Figure
from simrun.pages.sure_words import sure_figures
from simrun.pictures.charts.start_map import start_map
from simrun.scenario.scenario import Scenario
from simrun.trials.stopping import Settled

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class BoxesResult(OfRaces):
    """Samples by question, the first of the boxes drawn again.

    ours: our team as drawn against elsewhere, where that was asked. settled: how a study ended that stopped
    once clear.
    """

    day: Scenario
    samples: tuple[Sample, ...]
    folder: Path
    units: str
    ours: OursElsewhere | None = None
    settled: Settled | None = None
    left_out: LeftOut | None = None

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """boxes: a row a question, box, line and checkpoint, as `cells` says; ours: a row a checkpoint."""
        import pandas as pd

        tables = {"boxes": pd.concat(self._cells, ignore_index=True)}
        return tables | ({} if self.ours is None else {"ours": self.ours.table})

    @cached_property
    def _cells(self) -> list[pandas.DataFrame]:
        return [cells(sample, self.day) for sample in self.samples]

    @cached_property
    def _told(self) -> Told:
        mark = self.samples[0].checkpoints[first_mark(self.day)]
        cells = tuple(self._cells)
        return Told(self.day, self.samples, cells, mark, self.ours, self.settled, self.units)

    @property
    def sentence(self) -> str:
        """What our box costs, and what today's draw does to us; or which boxes differ."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence and the boxes in a short table."""
        return text_of(self._told)

    @property
    def figures(self) -> Mapping[str, Any]:
        """How many races, told at which mark; what our box costs, and what it costs us as drawn today."""
        told, sample = self._told, self.samples[0]
        figures: dict[str, Any] = {"races": len(sample.box), "mark": told.mark, "until": told.last}
        figures["our_box"] = told.our_box
        if told.our_box in sample.boxes:
            found = (*sample.found(told.our_box, told.mark), sample.found_points(told.our_box))
            figures |= {name: sure_figures(f) for name, f in zip(NAMES, found, strict=True)}
        if self.ours is not None:
            pairs = (*self.ours.pairs.found(told.mark), self.ours.pairs.found_points)
            figures["pairs"] = len(self.ours.pairs.points)
            figures |= {f"our_{n}": sure_figures(f) for n, f in zip(NAMES, pairs, strict=True)}
        return figures

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """boxes.csv, boxes_ours.csv, boxes.png, boxes_map.png, boxes.html; boxes_races.db stands there."""
        where = Path(folder) if folder else self.folder
        written = [write_csv(self.table, where / "boxes.csv")]
        if self.ours is not None:
            written.append(write_csv(self.ours.table, where / "boxes_ours.csv"))
        figures = self.pictures()
        for name, figure in zip(("boxes.png", "boxes_map.png"), figures, strict=True):
            written.append(write_bytes(where / name, figure.png))
        page = page_of(self._told, self.sentence, figures).noting(self.foot)
        return [*written, write_page(page, where / "boxes.html"), self.folder / "boxes_races.db"]

    def picture(self) -> Figure:
        """The chart by box."""
        return self.pictures()[0]

    def pictures(self) -> tuple[Figure, Figure]:
        """The chart by box and the map of the line."""
        told = self._told
        rows = told.at_mark
        by_box = dict(zip(rows["box"].tolist(), rows["cost_s"].tolist(), strict=True))
        chart = box_chart(rows, told.at_last, title_of(told), told.our_box)
        line = start_map(self.day, by_box, title_of(told), map_words(told))
        return (
            to_watch(
                Figure(chart, "What every box costs in seconds, places and team points"), self.day
            ),
            to_watch(
                Figure(line, "The start line, each box colored by the seconds it costs"),
                self.day,
                GUN,
            ),
        )
