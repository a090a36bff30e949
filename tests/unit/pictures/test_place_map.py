"""A piece of the map: the way leads right, left is up, names lie free."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from simrun.course.route import shortest_line
from simrun.pictures.ink.placing import overlap
from simrun.pictures.walk.place_map import LETTER_WIDE, SHAPE, PlaceMap, place_map
from simrun.pictures.walk.ride_ground import ride_ground
from simrun.scenario.reader import read

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FEN = read(SCENARIOS / "brindle_fen.toml").strip
LINE = shortest_line(FEN)


def points_of(outline: str) -> np.ndarray:
    return np.array([part.split() for part in re.split("[ML]", outline) if part], dtype=float)


def fen_map(from_m: float, to_m: float) -> PlaceMap:
    named = [("hedge gap", 175.0), ("pump corner", 270.0), ("wind pump", 400.0)]
    return place_map(FEN, LINE, (from_m, to_m), [one for one in named if from_m <= one[1] <= to_m])


@pytest.mark.parametrize("ends", [(0.0, 70.0), (175.0, 290.0), (290.0, 400.0), (560.0, 600.0)])
def test_the_way_leads_right_and_lies_in_the_picture(ends: tuple[float, float]) -> None:
    found = fen_map(*ends)
    left, top, wide, high = found.box
    assert wide / high == pytest.approx(SHAPE, rel=1e-3)
    one, other = (found.turned(np.array(FEN.point_at(at))) for at in ends)
    assert other[0] - one[0] == pytest.approx(np.hypot(*(other - one)), abs=1e-6)
    way = points_of(found.way)
    inside = (way[:, 0] > left) & (way[:, 0] < left + wide)
    inside &= (way[:, 1] > top) & (way[:, 1] < top + high)
    assert inside.mean() > 0.9


def test_left_of_the_course_is_up() -> None:
    """y grows downwards on the page."""
    found = fen_map(0.0, 70.0)
    left, right = (found.turned(np.array(FEN.point_at(30.0, share))) for share in (0.0, 1.0))
    assert left[1] < right[1]


def test_lengths_are_those_of_the_ground() -> None:
    """Turned, not stretched: the way on the map is as long as the line between the two places."""
    way = points_of(fen_map(175.0, 290.0).way)
    assert np.hypot(*np.diff(way, axis=0).T).sum() == pytest.approx(290 + 8 - (175 - 12), abs=0.3)


def test_names_lie_beside_the_ground_and_not_over_one_another() -> None:
    found = fen_map(175.0, 400.0)
    assert [name.text for name in found.names] == ["hedge gap", "pump corner", "wind pump"]
    boxes = []
    for name in found.names:
        half = np.array([LETTER_WIDE * found.letter_m * len(name.text), found.letter_m]) / 2
        boxes.append((name.x - half[0], name.y - half[1], name.x + half[0], name.y + half[1]))
    assert not any(overlap(a, b, 0) for k, a in enumerate(boxes) for b in boxes[:k])
    middle = [found.turned(np.array(FEN.point_at(at))) for at in np.arange(165.0, 410.0, 1.0)]
    assert not any(x0 < x < x1 and y0 < y < y1 for x0, y0, x1, y1 in boxes for x, y in middle)


def test_a_wall_is_drawn_as_a_wall() -> None:
    """The inside of the pump corner is a barrier, and only there."""
    assert "barrier" in fen_map(175.0, 290.0).edges
    assert "barrier" not in fen_map(0.0, 70.0).edges


def test_who_rides_along_is_told_no_names() -> None:
    ground = ride_ground(FEN, LINE)
    assert ground["gates"] == ground["landmarks"] == ground["checkpoints"] == []
    way = np.array(ground["way"]).reshape(-1, 3)
    assert way[-1, 0] == pytest.approx(LINE.length_m, abs=0.01)
    assert len(ground["left"]) == 2 * len(ground["station"])
