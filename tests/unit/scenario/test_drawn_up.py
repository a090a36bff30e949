"""A course drawn up in code: piece by piece the shipped file, every mistake one of ours."""

from __future__ import annotations

from pathlib import Path

import pytest

import simrun
from simrun.base.errors import BadInput
from simrun.scenario.reader import read_parts
from tests.helpers.worlds import SHARP_TURN

DUAL = Path(__file__).parents[3] / "scenarios" / "dual_meet.toml"

START = {"width": 60, "boxes": 24, "box_width": 2.5, "front_row": 3}
COURSE = (
    simrun.Course()
    .straight(150, width=60, name="meadow")
    .narrowing(60, 12, name="funnel")
    .straight(100, name="lane")
    .turn("left", 90, 0, name="barn corner", left="barrier")
    .straight("300 m", name="long lane")
    .checkpoint("throat", 210)
    .checkpoint("after the turn", 361)
)


def test_it_is_the_same_ground_as_by_a_file() -> None:
    """Every cut of the strip, to the last bit; and read again from its own text the same day."""
    day = COURSE.day(
        "Sharp turn", START, clock={"limit": "6 min"}, teams=[{"name": "Alderbrook", "box": 12}]
    )
    written = read_parts(SHARP_TURN, {}, "")
    assert day.strip.left_m.tobytes() == written.strip.left_m.tobytes()
    assert day.strip.station_m.tobytes() == written.strip.station_m.tobytes()
    assert read_parts(day.to_toml(), {}, "") == day
    assert COURSE.to_toml() in day.to_toml()


def test_every_shipped_day_is_its_own_text() -> None:
    day = simrun.read(DUAL)
    assert read_parts(day.to_toml(), day.attachments, "") == day


def test_a_longer_course_leaves_the_shorter_one_as_it_is() -> None:
    more = COURSE.straight(50).laps("lane", "long lane", 2).landmark("oak", "80 m")
    assert (len(COURSE.pieces), len(more.pieces)) == (5, 6)
    assert COURSE.on_a_day() == COURSE
    assert more != COURSE
    assert repr(more) == "<Course of 6 pieces, 3 marks>"


@pytest.mark.parametrize(
    ("drawn", "told"),
    [
        (lambda: COURSE.straight("long"), "pieces.6.length"),
        (lambda: COURSE.straight(50, widht=4), "did you mean 'width'"),
        (lambda: COURSE.turn("lift", 90, 0), "pieces.6.side: .*did you mean 'left'"),
        (lambda: COURSE.turn("left", 400, 0), "pieces.6.angle"),
        (lambda: COURSE.checkpoint("x", -3), "at"),
        (lambda: COURSE.laps("lane", "long lane", 0), "laps.times"),
        (lambda: COURSE.laps("lan", "long lane", 2).day("x", START), "lan"),
        (lambda: COURSE.day("x", START | {"boxes": 40}), "start"),
        (lambda: COURSE.day("x", {"width": 60}), "start.boxes"),
        (lambda: simrun.Course().day("x", START), "course"),
    ],
)
def test_a_mistake_is_one_of_ours(drawn, told: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput, match=told):
        drawn()
