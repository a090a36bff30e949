"""The crew's drawing: to scale, every stake and peg on it, a turned line as straight ahead as any other."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.answers.layout.crew.crew_drawing import laid_of
from simrun.answers.layout.crew.crew_tables import tape_rows
from simrun.answers.layout.crew.crew_words import beside_words, stake_words
from simrun.measure.stakes import stake_plan
from simrun.pages.cautions import CAUTION
from simrun.pictures.charts import crew_map as drawing
from simrun.pictures.charts.crew_map import CrewSheet, laid_on
from simrun.pictures.charts.sheet_paper import Paper
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
        laid = drawing.Laid(plan.stake_m, plan.pegs_m, plan.left_peg, names, np.zeros(2))
        assert drawing.crew_map(laid, "metric") == b"png"
        axes = kept.pop().axes[0]
        assert axes.get_aspect() == 1.0
        sizes = [len(marks.get_offsets()) for marks in axes.collections]
        assert sizes[:2] == [len(plan.stake_m), len(plan.pegs_m)]
        told = [text.get_text() for text in axes.texts]
        assert set(names) <= set(told)
        assert {"\N{BLACK STAR} gun", "middle peg", "to the sighting mark"} <= set(told)


@pytest.mark.parametrize(("name", "paper"), [("ostrel_common", "Letter"), ("brindle_fen", "A4")])
def test_the_sheet_holds_every_tape_inside_its_margins(name: str, paper: str) -> None:
    """Drawing, words and one row a stake; nothing over the edge or over another; lines where the scenario has
    them."""
    start = {"start.recall": "100 m", "start.crossing": 20, "start.ambulance": "right"}
    day = read(SCENARIOS / f"{name}.toml").changed(start)
    plan = stake_plan(day)
    how = [stake_words(plan, "metric"), *beside_words(day, "metric").values()]
    laid = laid_of(day, plan)
    rows = tape_rows(plan, "metric")
    page = laid_on(Paper(paper), CrewSheet(day.name, laid, how, rows, CAUTION), "metric")
    wide, high = page.size_in
    boxes = [box for _, box in page.written]
    assert all(
        left >= 0.4 and right <= wide - 0.1 and down <= high for left, _, right, down in boxes
    )
    told = [text for text, _ in page.written]
    assert [told.count(str(number)) for number in range(1, len(rows))] == [1] * (len(rows) - 1)
    ordered = sorted(boxes, key=lambda box: box[1])
    assert all(not over(one, other) for i, one in enumerate(ordered) for other in ordered[:i])
    drawn = [text.get_text() for text in page.figure.axes[0].texts]
    assert "\N{UPWARDS ARROW} recall line, 100 m ahead" in drawn
    assert {"spectators' crossing, 20 m ahead", "ambulance lane"} <= set(drawn)


def over(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Do two texts lie over one another, by more than a hair?"""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    return wide > 0.01 and min(one[3], other[3]) - max(one[1], other[1]) > 0.01
