"""A way of clicks becomes a course: every corner is passed, lengths by hand, laps close by themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.desk.work.drawn_way import Drawn, drawn_text
from simrun.scenario.changes.changes_people import with_racing
from simrun.scenario.in_text.toml_edit import edited
from simrun.scenario.in_text.written_plan import PlanAsked, plan_changes
from simrun.scenario.reader import read_parts
from simrun.scenario.scenario import Scenario

SQUARE = np.array([[0, 0], [200, 0], [300, 0], [300, 150], [120, 150], [120, 60]], dtype=float)


def made(points: np.ndarray, **more: object) -> Scenario:
    """The race day of these clicks."""
    how: dict[str, object] = {
        "line_m": 40.0,
        "width_m": 6.0,
        "boxes": 12,
        "box_m": 3.0,
        "front_row": 2,
    }
    return read_parts(drawn_text(Drawn("A park", points, **{**how, **more})), {}, "park.toml")  # type: ignore[arg-type]


def middle_way_m(day: Scenario) -> float:
    """How long is the middle of the course from the line to the finish?"""
    strip = day.strip
    ahead = slice(int(np.abs(strip.station_m).argmin()), strip.finish_cut + 1)
    return float(np.hypot(*np.diff(strip.middle_m[ahead], axis=0).T).sum())


def test_a_way_without_laps_is_as_long_as_its_legs() -> None:
    """300 + 150 + 180 + 90, each of three right angles short of 2 r by (4 - pi) r / 2 a corner, r = 11 m."""
    expected = 300 + 150 + 180 + 90 - 3 * (2 - math.pi / 2) * 11
    assert middle_way_m(made(SQUARE)) == pytest.approx(expected, rel=0.002)


def test_every_corner_is_passed_within_its_own_rounding() -> None:
    """In the frame of the first leg, which the clicks have here."""
    middle = made(SQUARE).strip.middle_m
    for corner in SQUARE[2:5]:
        away = np.hypot(*(middle - corner).T).min()
        assert away < 11 * (math.sqrt(2) - 1) + 0.3


@pytest.mark.parametrize("laps", [1, 2, 3])
def test_a_lap_closes_by_itself(laps: int) -> None:
    """The reader refuses a lap that does not come back in place; each is as long as the one before."""
    points = np.array([[0, 0], [180, 0], [300, 30], [330, 170], [170, 210], [90, 110]], dtype=float)
    ways = [middle_way_m(made(points, lap_from=1, laps=n)) for n in range(1, laps + 1)]
    steps = np.diff(ways)
    assert np.allclose(steps, steps[0] if len(steps) else 0, rtol=1e-6)
    if laps == 2:
        loop = np.vstack([points[1:], points[1]])
        assert steps[0] == pytest.approx(float(np.hypot(*np.diff(loop, axis=0).T).sum()), rel=0.06)


@pytest.mark.parametrize("seed", range(12))
def test_laps_of_any_shape_close(seed: int) -> None:
    """Loops of five to nine corners about a point, drawn by chance; refused in a line or closed."""
    rng = np.random.default_rng(seed)
    corners = int(rng.integers(5, 10))
    angle = np.sort(rng.uniform(0, 2 * math.pi, corners)) - math.pi / 2
    radius = rng.uniform(90, 160, corners)
    loop = np.stack([300 + radius * np.cos(angle), 160 + radius * np.sin(angle)], axis=1)
    points = np.vstack([[loop[0][0] - 200, loop[0][1] - 20], loop])
    try:
        day = made(points, lap_from=1, laps=2)
    except BadInput as wrong:
        told = {problem.key for problem in wrong.problems}
    else:
        told = set() if day.course.laps else {"no lap"}
    assert told <= {"drawing", "course"}


@pytest.mark.parametrize(
    ("points", "more"),
    [
        ([[0, 0]], {}),
        ([[0, 0], [2, 0], [2, 50]], {}),
        ([[0, 0], [200, 0], [100, 0.1]], {}),
        ([[0, 0], [200, 0], [200, 90], [90, 90]], {"lap_from": 3}),
        ([[0, 0], [200, 0], [200, 1.5], [90, 90]], {}),
    ],
)
def test_clicks_that_make_no_course_are_told(points: list, more: dict) -> None:  # type: ignore[type-arg]
    """One line each, never an error of ours."""
    with pytest.raises(BadInput):
        made(np.array(points, dtype=float), **more)


def test_the_others_go_out_wild_and_ours_as_they_did() -> None:
    """Ours are the same to the last bit, the others harder; where the file tells an opening: refused."""
    day = made(SQUARE)
    asked = PlanAsked(others="wild")
    text = edited(day.to_toml(), plan_changes(day, asked))
    before, after = (with_racing(one).roster(1) for one in (day, read_parts(text, {}, "wild.toml")))
    ours = before.team == day.our_team
    assert ours.any()
    np.testing.assert_array_equal(after.opening[ours], before.opening[ours])
    np.testing.assert_array_equal(after.in_hand_m[ours], before.in_hand_m[ours])
    assert after.opening[~ours].mean() > before.opening[~ours].mean() + 0.02
    told = day.changed({"field.opening": 0.1})
    with pytest.raises(BadInput, match="how hard the field goes out"):
        plan_changes(told, asked)
