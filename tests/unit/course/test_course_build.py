"""Pieces, laps, gates, approaches and drawn bends."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.approach import rounded_margins_m
from simrun.course.build import build_strip
from simrun.course.drawing.drawn_strip import find_bends, find_throats
from simrun.course.source import CourseSource, Laps, Piece
from simrun.course.strip import EdgeKind, Mark, Side, with_cut_at
from simrun.scenario.reader import read

SHIPPED = Path(__file__).parents[3] / "scenarios"
STRAIGHT = Piece("straight", "field", 100.0, 20.0)


def build(*pieces: Piece, **options: object):
    return build_strip(CourseSource(20.0, 10.0, pieces, **options))  # type: ignore[arg-type]


def test_a_straight_is_as_long_as_written() -> None:
    """100 m from the line to the finish, room behind the line, ground behind the finish."""
    strip = build(STRAIGHT)
    assert strip.length_m == pytest.approx(100.0)
    assert strip.station_m[0] == pytest.approx(-10.0)
    assert strip.station_m[-1] == pytest.approx(131.0)
    assert strip.checkpoints == (Mark("finish", 100.0),)


def test_a_narrowing_comes_in_from_its_side() -> None:
    """From the left alone the right edge runs straight on; from both, both come in."""
    left = build(STRAIGHT, Piece("narrowing", "n", 30.0, 8.0, side=Side.LEFT))
    both = build(STRAIGHT, Piece("narrowing", "n", 30.0, 8.0))
    cut = left.gates[0].last_cut
    assert left.right_m[cut, 1] == -10.0
    assert left.left_m[cut, 1] == pytest.approx(-2.0)
    assert both.left_m[both.gates[0].last_cut, 1] == pytest.approx(4.0)


def test_an_open_inside_of_a_turn_is_flagged() -> None:
    """The flags of a turn bind, even where no edge stands."""
    strip = build(
        STRAIGHT,
        Piece("turn", side=Side.LEFT, angle_deg=90, left_edge=EdgeKind.OPEN, inside_radius_m=5),
        Piece("straight", length_m=20, left_edge=EdgeKind.OPEN),
    )
    gate = strip.gates[0]
    assert (strip.left_edge[gate.first_cut : gate.last_cut] == EdgeKind.MARKED).all()
    assert strip.left_edge[-1] == EdgeKind.OPEN


def square(times: int, last: float = 60.0) -> tuple[tuple[Piece, ...], Laps]:
    legs = []
    for k, length in enumerate((60.0, 60.0, 60.0, last)):
        legs.append(Piece("straight", f"leg {k}", length))
        legs.append(Piece("turn", f"corner {k}", side=Side.LEFT, angle_deg=90, inside_radius_m=5))
    return (STRAIGHT, *legs), Laps("leg 0", "corner 3", times)


def test_laps_run_the_same_ground() -> None:
    """Two laps of a square: the cuts come again, each lap has gates of its own."""
    pieces, laps = square(2)
    strip = build(*pieces, laps=laps)
    names = [(gate.name, gate.lap) for gate in strip.gates]
    assert names == [(f"corner {k}", lap) for lap in (1, 2) for k in range(4)]
    first, second = strip.gates[0], strip.gates[4]
    np.testing.assert_array_equal(strip.left_m[first.first_cut], strip.left_m[second.first_cut])
    once = build(*pieces, laps=Laps("leg 0", "corner 3", 1)).length_m
    lap = strip.station_m[second.first_cut] - strip.station_m[first.first_cut]
    assert strip.length_m == pytest.approx(once + lap, abs=0.01)


def test_a_lap_that_does_not_close_says_by_how_much() -> None:
    """Two metres too long: told, with the direction."""
    pieces, laps = square(2, last=62.0)
    with pytest.raises(BadInput, match=r"2\.0 m away"):
        build(*pieces, laps=laps)


def test_a_course_too_narrow_for_a_body_is_refused() -> None:
    """Half a metre: refused; one metre: built."""
    with pytest.raises(BadInput, match="one body"):
        build(STRAIGHT, Piece("trail", "slit", 30.0, 0.5))
    assert build(STRAIGHT, Piece("trail", "path", 30.0, 1.0)).width_m.min() == pytest.approx(1.0)


def test_a_mark_beyond_the_course_is_refused() -> None:
    """And named."""
    with pytest.raises(BadInput, match="mile"):
        build(STRAIGHT, checkpoints=(Mark("mile", 1609.0),))


def test_a_new_cut_changes_no_ground() -> None:
    """A cut more leaves length, gates and edges where they were."""
    strip = build(STRAIGHT, Piece("turn", "t", side=Side.RIGHT, angle_deg=90, inside_radius_m=4))
    more = with_cut_at(strip, 37.0)
    assert len(more.station_m) == len(strip.station_m) + 1
    assert more.length_m == strip.length_m
    where = [strip.left_m[gate.last_cut].tolist() for gate in strip.gates]
    assert [more.left_m[gate.last_cut].tolist() for gate in more.gates] == where


def test_the_rounded_way_touches_its_apex_and_is_an_arc() -> None:
    """Through the cuts of a turn the way lies on one circle, nearest to the inside in the middle."""
    strip = build(
        STRAIGHT,
        Piece("turn", "t", side=Side.LEFT, angle_deg=90, inside_radius_m=3.0),
        Piece("straight", length_m=50),
    )
    gate = strip.gates[0]
    cuts, margins = rounded_margins_m(strip, gate, np.array([0.5]), 1.2)
    assert margins.min() == pytest.approx(0.5, abs=1e-3)
    assert margins.max() == pytest.approx(0.5 + 1.2 * np.cos(np.pi / 4), abs=1e-3)
    across = (strip.right_m - strip.left_m)[cuts] / strip.width_m[cuts][:, None]
    points = strip.left_m[cuts] + across * margins[0][:, None]
    inside = slice(gate.first_cut - cuts.start, gate.last_cut - cuts.start + 1)
    x, y = points[inside].T
    circle, *_ = np.linalg.lstsq(
        np.stack([x, y, np.ones_like(x)], axis=1), x * x + y * y, rcond=None
    )
    radius = np.sqrt(circle[2] + (circle[0] ** 2 + circle[1] ** 2) / 4)
    c = np.cos(np.pi / 4)
    assert radius == pytest.approx(3.0 + 0.5 + 1.2 * c / (1 - c), abs=0.02)


def test_bends_of_a_drawing_are_found() -> None:
    """A quarter circle about a post of 10 m radius: side, angle and inside radius."""
    strip = build(
        STRAIGHT,
        Piece("turn", side=Side.RIGHT, angle_deg=90, inside_radius_m=10.0),
        Piece("straight", length_m=50),
    )
    (bend,) = find_bends(strip.left_m, strip.right_m, strip.finish_cut)
    assert bend.side == Side.RIGHT
    assert np.rad2deg(bend.angle_rad) == pytest.approx(90, abs=0.1)
    assert bend.radius_m == pytest.approx(10.0, abs=0.05)


def test_throats_of_a_drawing_are_found() -> None:
    """Where the width has come down for good; a course that only widens has none."""
    assert find_throats(np.array([20.0, 20, 20, 15, 10, 8, 8, 8])) == [5]
    assert find_throats(np.array([8.0, 8, 10, 12])) == []


def test_the_drawn_championship_course() -> None:
    """1.6 km, one named turn, the tree ring as fixed bodies, checkpoints on cuts."""
    strip = read(SHIPPED / "ostrel_common.toml").strip
    assert strip.length_m == pytest.approx(1600, abs=1)
    assert [gate.name for gate in strip.gates if gate.kind == "turn"] == ["pavilion corner"]
    assert tuple(thing.name for thing in strip.obstacles) == ("tree ring",)
    assert len(strip.obstacles_m) > 10
    stations = strip.station_m[strip.checkpoint_cuts()]
    np.testing.assert_allclose(stations, [mark.station_m for mark in strip.checkpoints])
