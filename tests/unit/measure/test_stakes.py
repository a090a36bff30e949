"""Can two volunteers with a tape lay the line out?"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simrun.answers.layout.crew.crew_words import point_words
from simrun.measure.stakes import laid_out_m, stake_plan, tape_error_m
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="module", params=["ferry_meadow", "ostrel_common", "dual_meet"])
def day(request: pytest.FixtureRequest) -> Scenario:
    return read(SCENARIOS / f"{request.param}.toml")


def test_tapes_to_the_centimetre_give_the_painted_line(day: Scenario) -> None:
    """Two circles about the pegs cross where the stake belongs, off by what a rounded tape leaves.

    Half a centimetre on either tape, at crossing angles of 42 degrees and more: 0.7 cm / sin 42 < 1.1 cm; and
    half a centimetre at the mark turns the line by less than that at its ends.
    """
    plan = stake_plan(day)
    assert tape_error_m(plan) < 0.015
    np.testing.assert_allclose(laid_out_m(plan), plan.stake_m, atol=0.015)


def test_the_first_and_last_stake_are_the_ends_of_the_boxes(day: Scenario) -> None:
    """Stakes and boxes are the same points."""
    plan, boxes = stake_plan(day), day.start_line.boxes
    np.testing.assert_allclose(plan.stake_m[:-1], [box.left_m for box in boxes])
    np.testing.assert_allclose(plan.stake_m[-1], boxes[-1].right_m)


def test_mirrored_line_mirrored_tapes(day: Scenario) -> None:
    """What the left tape reads for a stake the right tape reads for its mirror image.

    A stake straight behind the middle peg of a chain may be taped from either side.
    """
    plan = stake_plan(day)
    mirrored = plan.left_peg == len(plan.pegs_m) - 2 - plan.left_peg[::-1]
    assert mirrored.sum() >= len(mirrored) - 1
    left, right = plan.from_left_m[mirrored], plan.from_right_m[::-1][mirrored]
    np.testing.assert_allclose(left, right, atol=1e-9)
    np.testing.assert_allclose(plan.box_turn_deg, -plan.box_turn_deg[::-1], atol=1e-12)


def test_an_arc_faces_its_point_and_bows(day: Scenario) -> None:
    """The bow by hand, D - sqrt(D^2 - (W/2)^2), and the middle of every box's direction meets the point."""
    spec, plan = day.start_line.spec, stake_plan(day)
    if spec.aim_m is None:
        assert plan.bow_m == 0
        assert not plan.box_turn_deg.any()
        return
    assert plan.bow_m == pytest.approx(spec.aim_m - np.sqrt(spec.aim_m**2 - spec.width_m**2 / 4))
    middles = np.array([day.start_line.stand_middle_m(box.number) for box in day.start_line.boxes])
    turn = np.radians(plan.box_turn_deg)
    # From the left end of the line (y > 0) one has to face to the right: a turn below zero.
    aside = middles[:, 1] + np.tan(turn) * (spec.aim_m - middles[:, 0])
    np.testing.assert_allclose(aside, 0, atol=1e-6)


@pytest.mark.parametrize(
    "beyond",
    [
        [],
        [
            {"piece": "turn", "angle": 80, "side": "left", "inside_radius": 30, "width": 30},
            {"piece": "narrowing", "length": 40, "width": 6},
        ],
    ],
    ids=["no narrowing", "narrowing round the corner"],
)
def test_without_a_mark_the_line_is_square_to_the_edges(beyond: list[dict[str, object]]) -> None:
    """No narrowing, or one that the line does not face: nothing to sight to, and the words say what else."""
    pieces = [{"piece": "straight", "length": 200, "width": 30}, *beyond]
    document = {
        "name": "No mark",
        "clock": {"limit": "10 min"},
        "start": {"width": 30, "boxes": 5, "box_width": 6, "front_row": 3},
        "course": {"pieces": [*pieces, {"piece": "straight", "length": 100}]},
        "field": {"fill": True, "runners": 3},
    }
    plan = stake_plan(Scenario.assembled(document, {}, "no_mark"))
    assert plan.sighting is None
    assert point_words(plan, "metric")["sighting mark"].startswith("Straight ahead")
    np.testing.assert_allclose(laid_out_m(plan), plan.stake_m, atol=0.015)


def test_a_wrong_mark_is_seen() -> None:
    """Half a metre at the mark turns the line: the check of the plan says so."""
    plan = stake_plan(read(SCENARIOS / "dual_meet.toml"))
    assert plan.sighting is not None
    wrong = replace(plan.sighting, right_of_middle_m=plan.sighting.right_of_middle_m + 0.5)
    assert tape_error_m(replace(plan, sighting=wrong)) > 0.03


def test_a_wrong_tape_is_seen(day: Scenario) -> None:
    """Ten centimetres on one tape: the check of the plan says so."""
    plan = stake_plan(day)
    off = replace(plan, from_left_m=plan.from_left_m + 0.1)
    assert tape_error_m(off) > 0.05
