"""Are layouts the same day with some settings changed, and nothing else?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.answers.layout.layout_measures import hand_queue_s, rule_straight_m
from simrun.answers.layout.layout_sweep import MOST_LAYOUTS, grid, ranges_of
from simrun.answers.layout.varied import (
    AFTER_TURN,
    NARROWING,
    SETTINGS,
    ground_m,
    headline,
    layout_of,
    present,
    said,
)
from simrun.base.errors import BadInput
from simrun.measure.crowd import first_narrowing_cut
from simrun.measure.wheel import measure_ground
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[3] / "scenarios"
MEADOW = read(SCENARIOS / "ferry_meadow.toml")
DRAWN = read(SCENARIOS / "ostrel_common.toml")


def test_ranges_in_words() -> None:
    """Both ends count; commas; words for the arc."""
    asked = ["width=60:80:10", "teams=24,12", "arc=straight,arc"]
    found = ranges_of(asked)
    assert found == {"width": (60, 70, 80), "teams": (12, 24), "arc": (0, 1)}
    assert len(grid(found)) == 12
    assert grid(found)[1] == {"width": 60, "teams": 12, "arc": 1}


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("widht=60:80:10", "did you mean 'width'"),
        ("width", "width=FROM:TO:STEP"),
        ("width=80:60:5", "width=FROM:TO:STEP"),
        ("width=60:80:0", "width=FROM:TO:STEP"),
        ("width=60,nan", "numbers"),
        ("teams=10.5", "whole numbers"),
        ("width=0:1e9:1", "width=FROM:TO:STEP"),
        ("arc=bent", "numbers"),
    ],
)
def test_a_mistake_in_a_range_is_one_line(asked: str, told: str) -> None:
    """What was found, what is allowed."""
    with pytest.raises(BadInput, match=told) as wrong:
        ranges_of([asked])
    assert "\n" not in str(wrong.value)


def test_too_many_layouts_are_refused() -> None:
    """And the same name twice."""
    with pytest.raises(BadInput, match=str(MOST_LAYOUTS)):
        ranges_of(["width=1:30:1", "straight=1:30:1"])
    with pytest.raises(BadInput, match="once"):
        ranges_of(["width=60", "width=70"])
    assert len(ranges_of(["width=1:30:1", "straight=1:30:1"], swept=False)["width"]) == 30


@pytest.mark.parametrize("day", [MEADOW, DRAWN], ids=["pieces", "drawn"])
def test_every_setting_stands_where_the_scenario_says(day: object) -> None:
    """Set to where it stands, each setting leaves the line as it was."""
    for name, value in present(day).items():  # type: ignore[arg-type]
        if name in ("spread",) or (name == "arc" and value > 1):
            continue
        turned = present(layout_of(day, {name: value}, 500))  # type: ignore[arg-type]
        for other, was in present(day).items():  # type: ignore[arg-type]
            assert turned[other] == pytest.approx(was, abs=1e-6), (name, other)


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"width": 90}, {"width": 90, "box-width": 3.75, "teams": 24}),
        ({"teams": 12}, {"width": 60, "box-width": 5, "teams": 12}),
        ({"box-width": 3}, {"width": 72, "box-width": 3}),
        ({"straight": 200, "arc": 1}, {"straight": 200, "arc": 1, "throat": 12}),
        ({"throat": 20}, {"throat": 20, "straight": 170}),
        ({"front-row": 5, "waves": 2, "wave-gap": 30}, {"front-row": 5, "wave-gap": 30}),
        ({"spread": 40}, {"spread": 40}),
    ],
)
def test_what_is_turned_is_turned(values: dict[str, float], expected: dict[str, float]) -> None:
    """And what goes with it: boxes fill the line as before."""
    found = present(layout_of(MEADOW, values, 500))
    assert {name: found[name] for name in expected} == pytest.approx(expected)


@pytest.mark.parametrize(
    "values",
    [
        {"width": 10, "box-width": 2.5},
        {"front-row": 12, "box-width": 1},
        {"arc": 2},
        {"width": 1000},
    ],
)
def test_what_does_not_fit_is_refused(values: dict[str, float]) -> None:
    """Boxes wider than the line, more abreast than places, more than the full arc, a line beyond reason."""
    with pytest.raises(BadInput):
        layout_of(MEADOW, values)


def test_the_straight_is_what_the_wheel_reads() -> None:
    """From the line to where it is first narrow, as the inspection tells it; not the piece's length.

    A straight shorter than the narrowing itself is told, never a piece of no length.
    """
    told = measure_ground(MEADOW).first_narrowing
    assert told is not None
    assert present(MEADOW)["straight"] == pytest.approx(told[1], abs=0.05)
    longer = layout_of(MEADOW, {"straight": 200}, 500)
    assert longer.strip.station_m[first_narrowing_cut(longer.strip)] == pytest.approx(200, abs=0.05)
    with pytest.raises(
        BadInput, match="straight=40; more than 50 m: the narrowing itself is as long"
    ):
        layout_of(MEADOW, {"straight": 40}, 500)


def test_a_drawn_course_keeps_its_ground() -> None:
    """Its straight and narrowing cannot be moved, its line can."""
    with pytest.raises(BadInput, match="only for a course of pieces"):
        layout_of(DRAWN, {"straight": 300})
    assert layout_of(DRAWN, {"teams": 20}, 600).runners == 140


MEET = read(SCENARIOS / "dual_meet.toml")


def test_the_line_is_moved_on_the_ground_there_is() -> None:
    """Two metres to the right on a green of 25 yards: the same ground, every box 2 m over. Further there is
    none: 2.3 m to either side are left."""
    plain, there = (layout_of(MEET, values, 120) for values in ({}, {"sideways": -2.0}))
    assert there.strip.left_m.tobytes() == plain.strip.left_m.tobytes()
    np.testing.assert_allclose(there.start_line.line_m, plain.start_line.line_m - [0.0, 2.0])
    assert present(there)["sideways"] == -2.0
    assert ground_m(MEET, {"sideways": -2.0}) == 0.0
    told = "sideways: 2.4 m; at most 2.3 m to either side: the course is 22.9 m wide at its start"
    with pytest.raises(BadInput, match=told):
        layout_of(MEET, {"sideways": 2.4}, 120)
    with pytest.raises(BadInput, match=r"at most 0\.0 m to either side"):
        layout_of(MEADOW, {"sideways": 1.0}, 500)


def test_a_wider_line_that_is_moved_has_its_ground() -> None:
    """The green of 25 yards under a line of 30 m that lies 1 m aside: 32 m."""
    day = layout_of(MEET, {"width": 30.0, "sideways": 1.0}, 120)
    assert day.course.pieces[0].width_m == pytest.approx(32.0)
    assert day.start_line.line_m[:, 1].max() == pytest.approx(16.0)


def test_our_team_keeps_its_place_along_the_line() -> None:
    """Box 17 of 24 is box 9 of 12, and of 30 it is 21."""
    for teams, box in ((12, 9), (30, 21)):
        day = layout_of(MEADOW, {"teams": teams}, 500)
        assert [t.box for t in day.teams if t.ours] == [box]
        assert len(day.teams) == teams


def test_marks_go_with_the_ground() -> None:
    """The narrowing is a checkpoint wherever it lies; the race ends where it was told to."""
    day = layout_of(MEADOW, {"straight": 200}, 700)
    marks = {mark.name: mark.station_m for mark in day.strip.checkpoints}
    assert list(marks) == [NARROWING, "400 m", AFTER_TURN, "700 m"]
    assert marks[NARROWING] == pytest.approx(200, abs=0.1)
    assert headline(day) == NARROWING
    assert [m.name for m in layout_of(MEADOW, {}).strip.checkpoints][-2:] == ["1 km", "finish"]


def test_waves_take_turns_along_the_line() -> None:
    """With two waves a minute apart, even boxes wait a minute longer; nobody else changes."""
    plain, waves = (layout_of(MEADOW, v, 500) for v in ({}, {"waves": 2, "wave-gap": 60}))
    one, other = plain.roster(3), waves.roster(3)
    assert (other.reaction_s - one.reaction_s).tolist() == [60.0 * ((b - 1) % 2) for b in one.box]
    assert (one.cruise_m_s == other.cruise_m_s).all()


def test_the_rule_and_the_hand_calculation_follow_their_formulas() -> None:
    """L* falls as 1 / C; the hand's queue is nought where the straight is endless, more where C is small."""
    narrow, wide = (layout_of(MEADOW, {"throat": w}, 300) for w in (6, 12))
    assert rule_straight_m(narrow) == pytest.approx(2 * rule_straight_m(wide), rel=0.01)
    assert hand_queue_s(narrow, (1,))[0] > hand_queue_s(wide, (1,))[0]


def test_layouts_have_words() -> None:
    """Every setting says its value, in the reader's units; nothing changed is as it is."""
    assert said({}) == "as it is"
    assert said({"arc": 1.0, "width": 80.0, "teams": 20.0}) == "arc, line width 80 m, teams 20"
    own = ("aim", "tilt", "sideways")
    assert all(s.title in s.said(0.37) for name, s in SETTINGS.items() if name not in own)
    arc = "arc about a point 480 m ahead, turned 3.8 degrees to the right"
    assert said({"tilt": 0.0}) == "not turned"
    assert said({"aim": 480.0, "tilt": -3.8331}) == arc
    assert said({"sideways": 0.0}) == "not moved"
    assert (
        said({"sideways": 2.5, "tilt": 1.0})
        == "moved 2.5 m to the left, turned 1.0 degrees to the left"
    )
    assert said({"sideways": -27.432}, "us") == "moved 30 yd to the right"
    assert SETTINGS["sideways"].value_text(-27.432, "us") == "-30 yd"
    assert ranges_of(["sideways=-4 yd:4 yd:4 yd"])["sideways"] == pytest.approx(
        (-3.6576, 0, 3.6576)
    )
    typed = ranges_of(["straight=140 yd", "throat=13 ft"])
    told = {name: values[0] for name, values in typed.items()}
    assert said(told, "us") == "straight to where it is narrow 140 yd, narrowing width 13 ft"
    assert said({"spread": 40.0}, "us") == "spread of the 5 km times 40 s"


def test_the_present_layout_is_raced_once() -> None:
    """Turned to where it stands it is the same day, word for word."""
    now = present(MEADOW)
    same = layout_of(MEADOW, {name: now[name] for name in ("width", "straight", "arc")}, 500)
    assert same == layout_of(MEADOW, {}, 500)
    assert same != layout_of(MEADOW, {"straight": now["straight"] + 1}, 500)


def test_a_box_sheet_is_written_down_where_the_boxes_change() -> None:
    """A line of ten boxes with a sheet of thirteen: ours first, everybody near where they stood."""
    listed = read(SCENARIOS / "brindle_fen.toml")
    drawn = listed.changed({"field.seed_times": None, "field.ability": "girls varsity 5 km"})
    day = layout_of(drawn, {"teams": 10}, 300)
    box = {team.name: team.box for team in day.teams}
    assert len(box) == day.start.boxes == 10
    assert (box["Ellerfold"], box["Brackwater"]) == (8, 1)
    assert sorted(box.values()) == list(range(1, 11))
