"""Straights and turns become pieces that close, with the widths that somebody measured, however odd they
are."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.pieces import lay_pieces
from simrun.course.source import CourseSource, Laps, Piece
from simrun.course.strip import Side
from simrun.course.walked.track_climb import profile_of
from simrun.course.walked.track_course import WatchCourse, course_of
from simrun.course.walked.track_pieces import Pieces, Widths, pieces_of, stretches_of, tightest_m
from simrun.course.walked.track_walk import EVEN_M, Walk
from tests.helpers.watch_tracks import rounded_path

CORNERS = [(-220, 0), (400, 0), (400, 200), (120, 240), (0, 0), (400, 0), (400, 200), (200, 229)]


def walk_along(corners: object, radius_m: float = 9.0) -> Walk:
    path = rounded_path(np.array(corners, dtype=float), radius_m)[:: int(2 * EVEN_M)]
    height = 5 * np.cos(path[:, 0] / 150)
    return Walk(path, height, EVEN_M * np.arange(len(path)), 0.015)


@pytest.fixture(scope="module")
def walk() -> Walk:
    return walk_along(CORNERS)


@pytest.fixture(scope="module")
def course(walk: Walk) -> WatchCourse:
    return course_of(walk)


def made(course: WatchCourse, walk: Walk, widths: Widths) -> Pieces:
    return pieces_of(course, profile_of(course, walk.height_m), widths)


def laid(pieces: Pieces, line_m: float):
    """The pieces as a scenario lays them; raises BadInput where a lap does not close."""
    rows = [
        Piece(
            row["piece"],
            row.get("name", ""),
            row.get("length", 0.0),
            row.get("width"),
            Side[row["side"].upper()] if "side" in row else Side.NONE,
            row.get("angle", 0.0),
            row.get("inside_radius", 0.0),
            climb_m=row.get("climb", 0.0),
            first=row.get("from", ""),
            last=row.get("to", ""),
        )
        for row in pieces.tables
    ]
    told = pieces.laps
    laps = Laps(told["from"], told["to"], told["times"]) if told else None
    return lay_pieces(CourseSource(line_m, 5.0, tuple(rows), laps=laps))


@pytest.mark.parametrize("line_m", [40.0, 110.0])
def test_a_wide_start_is_straight_and_the_lap_closes(
    course: WatchCourse, walk: Walk, line_m: float
) -> None:
    pieces = made(course, walk, Widths(line_m, 6.0))
    assert [row["name"] for row in pieces.tables[:2]] == ["start straight", "first narrowing"]
    assert pieces.tables[0]["width"] == line_m
    chain = laid(pieces, line_m)
    middle = (np.array(chain.left) + np.array(chain.right)) / 2
    start = middle[: 3 + 1]
    assert np.ptp(start[:, 1]) < 1e-6
    length = np.hypot(*np.diff(middle[1:-2], axis=0).T).sum()
    assert length == pytest.approx(course.length_m, abs=1.0)


def test_every_stretch_has_the_width_that_was_measured_and_the_lap_still_closes(
    course: WatchCourse, walk: Walk
) -> None:
    numbers = [stretch.number for stretch in stretches_of(course)]
    assert numbers == list(range(1, len(numbers) + 1))
    for number in numbers:
        for width in (3.0, 26.0):
            widths = Widths(60.0, 6.0, stretches={number: width})
            tighter = tightest_m(course, widths)
            fitted = course_of(walk, tighter) if tighter else course
            chain = laid(made(fitted, walk, widths), 60.0)
            found = np.hypot(*(np.array(chain.left) - np.array(chain.right)).T)
            assert np.abs(found - width).min() < 1e-6, (number, width)


def test_where_the_start_comes_down_is_what_was_measured(course: WatchCourse, walk: Walk) -> None:
    pieces = made(course, walk, Widths(60.0, 6.0, wide_m=40.0, narrowed_m=90.0))
    assert (pieces.wide_m, pieces.narrowed_m) == (40.0, 90.0)
    assert [row["length"] for row in pieces.tables[:2]] == [40.0, 50.0]
    for wide_m, narrowed_m in ((40.0, 900.0), (90.0, 60.0)):
        with pytest.raises(BadInput, match="the lap begins there"):
            made(course, walk, Widths(60.0, 6.0, wide_m=wide_m, narrowed_m=narrowed_m))


def test_names_are_given_once_and_climbs_of_a_lap_add_up_to_nothing(
    course: WatchCourse, walk: Walk
) -> None:
    pieces = made(course, walk, Widths(60.0, 6.0))
    names = [row["name"] for row in pieces.tables if row["piece"] != "again"]
    assert len(set(names)) == len(names)
    again = next(row for row in pieces.tables if row["piece"] == "again")
    first = names.index(again["from"])
    lap = pieces.tables[first : [row["piece"] for row in pieces.tables].index("again")]
    assert sum(row.get("climb", 0.0) for row in lap) == pytest.approx(0, abs=1e-6)
    assert max(abs(row.get("climb", 0.0)) for row in lap) > 1


def test_a_track_that_turns_at_once_is_refused() -> None:
    walk = walk_along([(0, 0), (26, 0), (26, 300), (200, 300)])
    course = course_of(walk)
    assert course.chain.bits[0].length_m < 20
    with pytest.raises(BadInput, match="another beginning with --from"):
        made(course, walk, Widths(60.0, 6.0))
