"""A line whose aim is a place: solved for the ground there is, and again when the ground changes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from simrun.answers.layout.varied import layout_of
from simrun.base.errors import BadInput
from simrun.course.equal_ways import ways_m
from simrun.measure.stakes import stake_plan
from simrun.measure.wheel import aimed, measure_ground
from simrun.scenario.in_text.toml_edit import edited
from simrun.scenario.in_text.written_line import LineAsked, line_changes, with_line
from simrun.scenario.reader import read, read_as
from simrun.scenario.scenario import Scenario
from tests.helpers.off_axis import askew, one_sided

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FEN, FERRY = SCENARIOS / "brindle_fen.toml", SCENARIOS / "ferry_meadow.toml"


def aimed_at(day: Scenario, place: str, **more: Any) -> Scenario:
    return day.changed({"start.aim": place, **more})


@pytest.mark.parametrize("place", ["hedge gap", "finish"])
def test_the_line_is_the_one_that_check_tells(place: str) -> None:
    """Point and tilt as `simrun check --aim` says them, the ways equal, and the stakes in that frame."""
    plain = read(FEN)
    told, day = aimed(plain, place), aimed_at(plain, place)
    assert told is not None
    spec = day.start_line.spec
    assert (spec.shape, spec.aim_m, spec.tilt_deg) == ("arc", told.aim_m, told.tilt_deg)
    assert stake_plan(day).tilt_deg == told.tilt_deg
    report = measure_ground(day)
    assert (report.aimed_at, report.tilt_deg) == (place, told.tilt_deg)
    to_it = [b.to_finish_m if place == "finish" else b.to_first_gate_m for b in report.boxes]
    assert max(to_it) == pytest.approx(told.then_m, abs=1e-9)
    assert told.then_m < 0.1 * told.now_m


def test_it_follows_when_the_course_changes() -> None:
    """A longer straight on a one-sided course: another tilt, where a line in figures would lie askew."""
    day = aimed_at(one_sided(0).day, "neck")
    longer = {"course.pieces.1.length": 180.0}
    after, told = day.changed(longer), aimed(one_sided(0).day.changed(longer), "neck")
    assert told is not None
    assert after.start_line.spec.tilt_deg == told.tilt_deg
    before = day.start_line.spec
    assert abs(before.tilt_deg - told.tilt_deg) > 1
    cut = after.strip.gates[0].first_cut
    stayed, went = (np.ptp(ways_m(after.strip, s, cut)) for s in (before, after.start_line.spec))
    assert went < 0.2 * stayed


def test_a_drawing_is_solved_too() -> None:
    """The narrowing lies aside and askew."""
    plain = askew(2).day
    gate = plain.strip.gates[0].name
    told = aimed(plain, gate)
    assert told is not None
    assert aimed_at(plain, gate).start_line.spec.tilt_deg == told.tilt_deg


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            {"start.tilt": 3.0},
            r"start.tilt: 3; not together with aim = 'hedge gap'.*the tilt itself",
        ),
        ({"start.tilt": 0.0}, r"start.tilt: 0; not together with aim"),
        (
            {"start.shape": "straight"},
            r"start.shape: 'straight'; not together with aim = 'hedge gap'",
        ),
        ({"start.aim": "hedge gpa"}, r"start.aim: 'hedge gpa'; one of .*did you mean 'hedge gap'"),
        (
            {"start.aim": ""},
            r"start.aim: ''; a length, 1 to 5000 m, or .* a gate's name, or finish",
        ),
        ({"start.aim": "60 metrs"}, r"start.aim: '60 metrs'; a length, 1 to 5000 m, or"),
    ],
)
def test_what_cannot_be_aimed_is_one_clear_line(change: dict[str, Any], words: str) -> None:
    """The key, what was found, what is allowed; tilt and a place together are never guessed between."""
    day = read(FEN)
    with pytest.raises(BadInput, match=words) as wrong:
        day.changed({"start.aim": "hedge gap", **change})
    assert len(wrong.value.problems) == 1


def test_the_ends_of_the_line_that_is_found_lie_on_the_first_piece() -> None:
    """An arc that would reach beyond the straight is refused, as one in figures is."""
    with pytest.raises(
        BadInput, match=r"length: 1 m; more than [\d.]+ m: the ends of the arc lie that"
    ):
        one_sided(0).day.changed({"start.aim": "neck", "course.pieces.1.length": 1.0})


def test_a_line_of_one_box_has_no_equal_ways() -> None:
    """Two boxes or more."""
    text = FEN.read_text("utf-8").replace("boxes = 14", "boxes = 1\naim = 'finish'")
    with pytest.raises(BadInput, match=r"start.aim: 'finish' with one box; two boxes or more"):
        read_as(text, FEN)


def test_drawn_by_hand_it_lies_where_it_lay() -> None:
    """Turned on the desk: the point that was solved stays, written in figures; the place is gone."""
    text = FEN.read_text("utf-8").replace('gun = "left"', 'gun = "left"\naim = "finish"')
    day = read_as(text, FEN)
    asked = LineAsked(tilt_deg=2.0)
    kept = read_as(edited(text, line_changes(day, asked)), FEN)
    assert kept.start.aim_at == ""
    assert kept.start_line.spec.aim_m == day.start_line.spec.aim_m
    assert kept.start_line.spec == with_line(day, asked).start_line.spec
    assert kept.start_line.spec.tilt_deg == 2.0
    straight = read_as(edited(text, line_changes(day, LineAsked(bow_m=0.0))), FEN)
    assert straight.start_line.spec.shape == "straight"
    wider = with_line(day, LineAsked(straight_m=150.0))
    assert wider.start.aim_at == "finish"


def test_a_layout_keeps_the_line_of_the_whole_course() -> None:
    """Races of a study end on the first lap, which has another finish; the line is the whole course's.

    A wider line is solved anew; one that is told its own tilt or bow keeps the rest.
    """
    day = aimed_at(read(FERRY), "finish")
    spec = day.start_line.spec
    laid = layout_of(day, {}, 600.0)
    assert laid.strip.length_m < day.strip.length_m - 100
    assert laid.start_line.spec == spec
    wider = layout_of(day, {"width": 50.0}, 600.0).start_line.spec
    whole = day.changed({"start.width": 50.0, "start.box_width": wider.box_width_m}).start_line.spec
    assert wider == whole
    assert layout_of(day, {"tilt": 2.0}, 600.0).start_line.spec.aim_m == spec.aim_m
    assert layout_of(day, {"arc": 0.0}, 600.0).start_line.spec.shape == "straight"
