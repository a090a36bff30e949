"""What the measuring wheel says of a course, against sums done by hand."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from simrun.answers.check.run import run_check
from simrun.answers.check.words import ground_text
from simrun.measure.wheel import first_real_narrowing, measure_ground
from simrun.pages.cautions import CAUTION
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from tests.helpers.worlds import SHARP_TURN, scenario_of

SHIPPED = sorted((Path(__file__).parents[3] / "scenarios").glob("*.toml"))
WIDTH_M, BOX_M, BOXES, AWAY_M, THROAT_M = 102.0, 2.55, 40, 610.0, 25.6

FUNNEL = f"""
name = "Funnel"
[start]
width = {WIDTH_M}
boxes = {BOXES}
box_width = {BOX_M}
front_row = 5
{{shape}}
[course]
[[course.pieces]]
piece = "straight"
length = 3
width = {WIDTH_M}
[[course.pieces]]
piece = "narrowing"
name = "throat"
length = {AWAY_M - 3}
width = {THROAT_M}
[[course.pieces]]
piece = "straight"
length = 300
[field]
fill = true
[[teams]]
name = "Alderbrook"
box = 12
"""

OFFSET_M = (np.arange(BOXES) + 0.5 - BOXES / 2) * BOX_M


def funnel(folder: Path, shape: str) -> Scenario:
    return scenario_of(FUNNEL.format(shape=shape), folder)


def aside_m() -> np.ndarray:
    """How far every box is to the side of the nearest point of the throat, 0.30 m off its edge."""
    return np.maximum(np.abs(OFFSET_M) - (THROAT_M / 2 - 0.30), 0.0)


def test_extra_metres_of_every_box_by_hand(tmp_path: Path) -> None:
    """A straight line: straight on, or to the near edge of the throat: sqrt(610^2 + aside^2) - 610.

    computed
    """
    report = measure_ground(funnel(tmp_path, ""))
    extra = np.hypot(AWAY_M, aside_m()) - AWAY_M
    np.testing.assert_allclose([b.to_first_gate_m for b in report.boxes], extra, atol=1e-6)
    np.testing.assert_allclose([b.to_finish_m for b in report.boxes], extra, atol=1e-6)
    assert [box.box for box in report.boxes] == list(range(1, BOXES + 1))
    assert report.boxes[11].team == "Alderbrook"
    assert report.bow_m == 0.0


def test_extra_metres_of_the_second_row_by_hand(tmp_path: Path) -> None:
    """Seven of a team, five abreast: a second row 1 m behind, sqrt(611^2 + aside^2) - 610.

    computed
    """
    day = funnel(tmp_path, "")
    assert max(team.runners for team in day.teams) == 7
    extra = np.hypot(AWAY_M + 1.0, aside_m()) - AWAY_M
    behind = [box.rows_behind_m for box in measure_ground(day).boxes]
    np.testing.assert_allclose(behind, extra[:, None], atol=1e-6)
    table = run_check(day).tables["boxes"]
    np.testing.assert_allclose(table.row_2_to_first_gate_m, extra, atol=1e-6)


@pytest.mark.parametrize(("side", "best"), [("left", BOXES), ("right", 1)])
def test_a_throat_at_one_side_favours_the_boxes_before_it(
    side: str, best: int, tmp_path: Path
) -> None:
    """Closing in from the left, the throat lies before the right end of the line; by hand as above.

    computed
    """
    text = FUNNEL.format(shape="").replace('name = "throat"', f'name = "throat"\nside = "{side}"')
    report = measure_ground(scenario_of(text, tmp_path))
    toward = OFFSET_M if side == "left" else -OFFSET_M
    inner_edge = WIDTH_M / 2 - THROAT_M + 0.30
    extra = np.hypot(AWAY_M, np.maximum(inner_edge - toward, 0.0)) - AWAY_M
    np.testing.assert_allclose([b.to_first_gate_m for b in report.boxes], extra, atol=1e-6)
    assert report.boxes[best - 1].to_first_gate_m == 0.0
    assert extra.max() > 3.0


def test_extra_metres_on_an_arc_by_hand(tmp_path: Path) -> None:
    """The ends stand further ahead: nobody runs further than the middle, and the ends run less.

    computed
    """
    report = measure_ground(funnel(tmp_path, f'shape = "arc"\naim = {AWAY_M}'))
    ahead = AWAY_M - np.sqrt(AWAY_M**2 - OFFSET_M**2)
    way = np.hypot(AWAY_M - ahead, aside_m())
    extra = way - way.min()
    np.testing.assert_allclose([b.to_first_gate_m for b in report.boxes], extra, atol=1e-6)
    assert report.boxes[0].to_first_gate_m == pytest.approx(0.0, abs=1e-9)
    assert report.bow_m == pytest.approx(2.136, abs=0.0005)


def test_distances_and_widths_by_hand(tmp_path: Path) -> None:
    """The sharp-turn day: 150 m, 60 m of funnel, 100 m of lane, the corner, 300 m."""
    report = measure_ground(scenario_of(SHARP_TURN, tmp_path))
    assert report.first_narrowing is not None
    assert report.first_narrowing[0] == report.first_gate == "funnel"
    assert report.first_narrowing[1] == pytest.approx(210.0, abs=0.05)
    assert report.first_turn is not None
    # The measured line goes from the middle to 0.30 m off the corner, 5.70 m aside of 310 m.
    assert report.first_turn == ("barn corner", pytest.approx(np.hypot(310, 5.7), abs=0.001))
    assert report.tightest_turn == ("barn corner", 0.0)
    assert report.narrowest_m[0] == pytest.approx(12.0)
    assert report.front_line_per_runner_m == pytest.approx(2.5 / 3)
    by_hand = np.hypot(310, 5.7) + 300 + 0.30 * (np.pi / 2)
    assert report.length_m == pytest.approx(by_hand, abs=0.02)
    assert [name for name, _ in report.checkpoints] == ["throat", "after the turn"]


def test_wider_lines_are_longer_by_their_arcs(tmp_path: Path) -> None:
    """Inside, middle and outside in the middle of their bands: 1.65, 6 and 9.85 m off the post of a
    12 m lane. The string comes from 310 m away and runs on: a tangent and a quarter circle.

    computed
    """
    report = measure_ground(scenario_of(SHARP_TURN, tmp_path))
    for choice, off in (("inside", 1.65), ("middle", 6.0), ("outside", 9.85)):
        aside = 6.0 - off  # of the circle's lowest point, seen from the middle of the line
        if aside >= 0:
            away = np.hypot(310.0, 6.0)
            heading = np.arctan2(6.0, 310.0) - np.arcsin(off / away)
            by_hand = np.sqrt(away**2 - off**2) + off * (np.pi / 2 - heading) + 300.0
        else:
            by_hand = np.hypot(310.0, aside) + off * np.pi / 2 + 300.0
        assert report.lines_m[choice] == pytest.approx(by_hand, abs=0.001), choice


@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_course_makes_sense(file: Path) -> None:
    """A best box with 0, none below; the shortest line is the shortest; checkpoints in order."""
    scenario = read(file)
    report = measure_ground(scenario)
    for of in ("to_first_gate_m", "to_finish_m"):
        extra = [getattr(box, of) for box in report.boxes]
        assert min(extra) == 0.0
    assert len(report.boxes) == scenario.start_line.spec.boxes
    lengths = [report.length_m, *report.lines_m.values()]
    assert lengths == sorted(lengths)
    stations = [at for _, at in report.checkpoints]
    assert stations == sorted(stations)


def test_a_course_without_turns_or_narrowings_says_so(tmp_path: Path) -> None:
    """No gate: metres are measured to the finish, and the page says none."""
    text = FUNNEL.format(shape="").replace(f"width = {THROAT_M}", f"width = {WIDTH_M}")
    scenario = scenario_of(text.replace('"narrowing"', '"straight"'), tmp_path)
    report = measure_ground(scenario)
    assert (report.first_gate, report.first_turn, report.first_narrowing) == ("finish", None, None)
    assert report.lines_m == {}
    assert {box.to_finish_m for box in report.boxes} == {0.0}
    page = ground_text(report, "metric")
    assert page.count("none") == 2
    assert CAUTION in run_check(scenario).text


def test_the_page_has_a_row_a_box_and_the_units_asked_for(tmp_path: Path) -> None:
    """610 m are 667 yd; extra metres become feet and say so."""
    report = measure_ground(funnel(tmp_path, ""))
    metric, us = ground_text(report, "metric"), ground_text(report, "us")
    assert "610 m (throat)" in metric
    assert "667 yd (throat)" in us
    assert "extra m to throat" in metric
    assert "extra ft to throat" in us
    own = us.replace("(0.30 m off the edges)", "")  # the name of a convention
    assert not re.search(r"\d m\b|\bm to\b", own), "a metre that a reader of yards must convert"
    first = report.boxes[0].to_first_gate_m
    assert first > 0.1
    told = [
        row.split()[-3] for text in (metric, us) for row in text.splitlines() if row[:2] == "1 "
    ]
    assert told == [f"{first:.2f}", f"{first / 0.3048:.2f}"]
    rows = [line.split() for line in metric.splitlines()]
    assert sum(row[:1] == [str(box)] for box in range(1, BOXES + 1) for row in rows if row) == BOXES


def test_a_field_that_closes_in_a_little_is_no_narrowing() -> None:
    """60 m of line, 45 m from 120 m on, 12 m from 300 m on: the wheel reads 300 m to the second of them."""
    pieces = [
        {"piece": "straight", "length": 100, "width": 60},
        {"piece": "narrowing", "name": "hedges", "length": 20, "width": 45},
        {"piece": "straight", "length": 150},
        {"piece": "narrowing", "name": "gate", "length": 30, "width": 12},
        {"piece": "straight", "length": 100},
    ]
    document = {
        "name": "Two narrowings",
        "start": {"width": 60, "boxes": 10, "box_width": 6, "front_row": 3},
        "course": {"pieces": pieces},
        "field": {"fill": True},
    }
    day = Scenario.assembled(document, {}, "two")
    assert first_real_narrowing(day.strip, 60.0) == ("gate", pytest.approx(300.0, abs=0.5))
    wide = day.changed({"course.pieces.gate.width": 31})
    assert first_real_narrowing(wide.strip, 60.0) is None
    assert first_real_narrowing(wide.strip, 80.0) == ("gate", pytest.approx(300.0, abs=0.5))
