"""What a course measures, and how that stands beside books and guidance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.check.inspection import Inspection
from simrun.answers.check.words import (
    MAP_ALT,
    Told,
    scale_words,
    sentence_of,
    text_of,
    title_of,
)
from simrun.answers.kind import OfDay, Progress
from simrun.answers.to_watch import GUN, to_watch
from simrun.base.units import short_unit
from simrun.measure.wheel import Aimed, GroundReport
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class CheckResult(OfDay):
    """The report of the wheel and the tape, and the inspection. folder: None, nothing is written.

    aimed: the arc that would make the ways equal for every box; aim: to which gate, where one was named.
    """

    day: Scenario
    report: GroundReport
    inspection: Inspection
    folder: Path | None  # type: ignore[assignment]
    units: str
    aimed: Aimed | None = None
    aim: str = ""

    @property
    def _told(self) -> Told:
        return Told(self.report, self.inspection, self.units, self.aimed, bool(self.aim))

    @property
    def sentence(self) -> str:
        """How long the course is, and how many figures lie outside what is said of them."""
        return sentence_of(self._told)

    @property
    def text(self) -> str:
        """The sentence, the course, the boxes, the inspection and the caution."""
        return text_of(self._told)

    @cached_property
    def tables(self) -> Mapping[str, pandas.DataFrame]:
        """boxes: metres further than from the best box, to the first gate and to the finish.

        row_2_to_first_gate_m and so on: the same from the rows behind the front, where there are any.
        """
        import pandas as pd

        columns = ["box", "team", "to_first_gate_m", "to_finish_m"]
        boxes = pd.DataFrame([asdict(b) for b in self.report.boxes], columns=columns)
        behind = [box.rows_behind_m for box in self.report.boxes]
        for row, metres in enumerate(zip(*behind, strict=True), start=2):
            boxes[f"row_{row}_to_first_gate_m"] = metres
        return {"boxes": boxes}

    @property
    def figures(self) -> Mapping[str, Any]:
        """Everything that was measured but the boxes, by the names of the report and the inspection."""
        found = asdict(self.report) | asdict(self.inspection)
        del found["boxes"]
        return found | {"aimed": None if self.aimed is None else asdict(self.aimed)}

    def save(
        self, folder: str | Path | None = None, progress: Progress | None = None
    ) -> list[Path]:
        """check.html, where there is a folder to write to. Raises CannotWrite."""
        where = Path(folder) if folder else self.folder
        if where is None:
            return []
        # Only a page needs these, and they are a third of what the rest takes to load.
        from simrun.answers.check.page import page_of
        from simrun.pages.frame import write_page
        from simrun.pages.page import Figure
        from simrun.pictures.charts.start_map import start_map

        told = self._told
        metres_each = short_unit(self.units)[1]
        extra = {box.box: box.to_first_gate_m / metres_each for box in self.report.boxes}
        line = start_map(self.day, extra, title_of(told), scale_words(told), self.units)
        page = page_of(told, self.sentence, to_watch(Figure(line, MAP_ALT), self.day, GUN))
        return [write_page(page, where / "check.html")]
