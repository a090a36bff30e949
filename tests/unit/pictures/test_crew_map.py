"""The crew's drawing: to scale, every stake and peg on it, a turned line as straight ahead as any other."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.measure.stakes import stake_plan
from simrun.pictures.charts import crew_map as drawing
from simrun.scenario.changes.changes_layout import with_arc
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.mark.parametrize("name", ["ostrel_common", "dual_meet"])
def test_it_is_to_scale_and_whole(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """One metre as long across as ahead; as many stakes and pegs as the plan has; every peg named."""
    kept = []
    monkeypatch.setattr(drawing, "png_of", lambda figure: kept.append(figure) or b"png")
    day = read(SCENARIOS / f"{name}.toml")
    for each in (day, with_arc(day, 500.0, 4.0)):
        plan = stake_plan(each)
        names = [f"peg {i + 1}" for i in range(len(plan.pegs_m))]
        assert drawing.crew_map(plan, names, np.zeros(2), "metric") == b"png"
        axes = kept.pop().axes[0]
        assert axes.get_aspect() == 1.0
        sizes = [len(marks.get_offsets()) for marks in axes.collections]
        assert sizes[:2] == [len(plan.stake_m), len(plan.pegs_m)]
        told = [text.get_text() for text in axes.texts]
        assert set(names) <= set(told)
        assert {"\N{BLACK STAR} gun", "middle peg", "to the sighting mark"} <= set(told)
