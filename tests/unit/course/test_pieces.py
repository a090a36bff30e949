"""Pieces laid one after the other: edges, gates, laps, heights, and what closes a lap."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.course.build import build_strip
from simrun.course.pieces import MOUTH_M, RUN_OUT_M, edge_kinds, lay_pieces
from simrun.course.source import CourseSource, Laps, Piece
from simrun.course.strip import EdgeKind, Mark, Side, Strip

FIELD = Piece("straight", "field", 100.0, 20.0)


def source(*pieces: Piece, **options: Any) -> CourseSource:
    return CourseSource(20.0, 10.0, pieces, **options)


def build(*pieces: Piece, **options: Any) -> Strip:
    return build_strip(source(*pieces, **options))


def gate_names(strip: Strip) -> list[tuple[str, str, int]]:
    return [(gate.name, gate.kind, gate.lap) for gate in strip.gates]


def test_there_is_ground_behind_the_line_and_after_the_finish() -> None:
    """The apron of 10 m, the line itself at x = 0, a run-out behind the finish."""
    chain = lay_pieces(source(FIELD))
    assert [cut[0] for cut in chain.left] == [-10.0, 0.0, 100.0, 100.0 + RUN_OUT_M, 131.0]
    assert {cut[1] for cut in chain.left} == {10.0}
    assert {cut[1] for cut in chain.right} == {-10.0}
    assert len(chain.cell_piece) == len(chain.left) - 1


@pytest.mark.parametrize(
    ("side", "left_y", "right_y"), [("LEFT", -2, -10), ("RIGHT", 10, 2), ("NONE", 4, -4)]
)
def test_a_narrowing_comes_in_from_the_side_it_names(
    side: str, left_y: float, right_y: float
) -> None:
    """20 m to 8 m: 12 m from the one side, or 6 m from each."""
    strip = build(FIELD, Piece("narrowing", "n", 30.0, 8.0, side=Side[side]))
    cut = strip.gates[0].first_cut
    assert strip.left_m[cut].tolist() == pytest.approx([130.0, left_y])
    assert strip.right_m[cut].tolist() == pytest.approx([130.0, right_y])


def test_a_narrower_piece_is_a_throat_and_a_wider_one_is_not() -> None:
    """A trail narrower than the field has a mouth of 1 m and a gate there; out of it there is none."""
    strip = build(FIELD, Piece("trail", "path", 50.0, 2.0), Piece("straight", "lane", 50.0, 12.0))
    assert gate_names(strip) == [("path", "throat", 1)]
    throat = strip.gates[0].first_cut
    assert strip.left_m[throat, 0] == pytest.approx(100.0 + MOUTH_M)
    assert strip.width_m[throat] == pytest.approx(2.0)
    assert strip.width_m[-1] == pytest.approx(12.0)
    assert strip.left_m[strip.finish_cut, 0] == pytest.approx(200.0), "mouths take no extra length"


def test_a_gap_opens_again_to_the_width_before() -> None:
    """In over 1 m, through, out over 1 m: 20, 4, 4, 20 m."""
    strip = build(FIELD, Piece("gap", "gateway", 3.0, 4.0), Piece("straight", "on", 20.0))
    throat = strip.gates[0].first_cut
    assert gate_names(strip) == [("gateway", "throat", 1)]
    np.testing.assert_allclose(strip.width_m[throat - 1 : throat + 3], [20.0, 4.0, 4.0, 20.0])
    np.testing.assert_allclose(strip.left_m[throat : throat + 3, 0], [101.0, 104.0, 105.0])


@pytest.mark.parametrize("radius_m", [0.0, 3.0, 20.0])
@pytest.mark.parametrize("angle_deg", [10.0, 90.0, 180.0])
def test_a_turn_is_a_fan_whose_chords_are_as_long_as_its_arcs(
    angle_deg: float, radius_m: float
) -> None:
    """Both edges: radius times angle, exactly; the course leaves at the angle written."""
    strip = build(
        FIELD,
        Piece("turn", "t", side=Side.RIGHT, angle_deg=angle_deg, inside_radius_m=radius_m),
        Piece("straight", length_m=30.0),
    )
    gate, angle = strip.gates[0], np.deg2rad(angle_deg)
    fan = slice(gate.first_cut, gate.last_cut + 1)
    for edge, radius in ((strip.right_m, radius_m), (strip.left_m, radius_m + 20.0)):
        arc = np.hypot(*np.diff(edge[fan], axis=0).T).sum()
        assert arc == pytest.approx(radius * angle, abs=1e-9)
    across = strip.right_m[gate.last_cut] - strip.left_m[gate.last_cut]
    turned = np.arctan2(across[0], -across[1])
    assert np.cos(turned + angle) == pytest.approx(1.0), "to the right is clockwise"
    assert (strip.bend_radius_m[fan] == radius_m).all()
    assert strip.bend_angle_rad[fan] == pytest.approx(angle)
    assert (strip.bend_side[fan] == Side.RIGHT).all()
    assert (strip.bend_side[: gate.first_cut] == 0).all()


def test_a_climb_adds_up() -> None:
    """5 m up a bank, 2 m more round a turn, 7 m down: back on the level."""
    strip = build(
        FIELD,
        Piece("straight", "bank", 40.0, climb_m=5.0),
        Piece("turn", "t", side=Side.LEFT, angle_deg=90, inside_radius_m=5, climb_m=2.0),
        Piece("straight", "down", 60.0, climb_m=-7.0),
    )
    gate = strip.gates[0]
    assert strip.height_m[gate.first_cut] == pytest.approx(5.0)
    assert strip.height_m[gate.last_cut] == pytest.approx(7.0)
    assert strip.height_m[strip.finish_cut] == pytest.approx(0.0, abs=1e-12)
    assert (np.diff(strip.height_m[gate.first_cut : gate.last_cut + 1]) > 0).all()


def test_edges_stand_where_they_are_written() -> None:
    """A barrier of one piece ends with it; the open inside of a turn binds all the same."""
    pieces = (
        FIELD,
        Piece("straight", "wall", 50.0, left_edge=EdgeKind.BARRIER),
        Piece("turn", "t", side=Side.RIGHT, angle_deg=90, inside_radius_m=4,
              left_edge=EdgeKind.OPEN, right_edge=EdgeKind.OPEN),
    )  # fmt: skip
    chain = lay_pieces(source(*pieces))
    left, right = edge_kinds(chain, pieces)
    cell = np.array(chain.cell_piece)
    assert set(left[cell == 0]) == {EdgeKind.MARKED}
    assert set(left[cell == 1]) == {EdgeKind.BARRIER}
    assert set(right[cell == 1]) == {EdgeKind.MARKED}
    assert set(left[cell == 2]) == {EdgeKind.OPEN}
    assert set(right[cell == 2]) == {EdgeKind.MARKED}


SQUARE = [
    Piece("straight", "first", 60.0, surface="road"),
    Piece("turn", "elm", side=Side.LEFT, angle_deg=90, inside_radius_m=5),
    Piece("straight", "second", 40.0, climb_m=3.0),
    Piece("turn", side=Side.LEFT, angle_deg=90, inside_radius_m=5),
    Piece("straight", "third", 60.0, climb_m=-3.0),
    Piece("turn", "oak", side=Side.LEFT, angle_deg=90, inside_radius_m=5),
    Piece("straight", "fourth", 40.0),
    Piece("turn", "ash", side=Side.LEFT, angle_deg=90, inside_radius_m=5),
]


def laps(times: int, after: tuple[Piece, ...] = (), **options: Any) -> Strip:
    return build(FIELD, *SQUARE, *after, laps=Laps("first", "ash", times), **options)


def test_every_lap_has_gates_of_its_own() -> None:
    """The same names lap by lap, a nameless turn by its number, what follows once."""
    strip = laps(3, after=(Piece("narrowing", "chute", 30.0, 5.0),))
    of_a_lap = ["elm", "turn 2", "oak", "ash"]
    expected = [(name, "turn", lap) for lap in (1, 2, 3) for name in of_a_lap]
    assert gate_names(strip) == [*expected, ("chute", "throat", 1)]
    first = [gate.first_cut for gate in strip.gates]
    assert first == sorted(first)


def test_a_lap_is_the_same_ground_again() -> None:
    """Cuts, edges, heights, surface and bends of lap 2 are those of lap 1, bit for bit."""
    chain = lay_pieces(source(FIELD, *SQUARE, laps=Laps("first", "ash", 3)))
    begin = chain.cell_piece.index(1)
    long = sum(1 for piece in chain.cell_piece if piece == 1) // 3
    assert long == 1, "a straight is one cell a lap"
    end = chain.spans[3].last_cut
    lap = end - begin
    for k in range(begin + 1, end + 1):
        for again in (k + lap, k + 2 * lap):
            np.testing.assert_array_equal(chain.left[again], chain.left[k])
            np.testing.assert_array_equal(chain.right[again], chain.right[k])
            assert chain.bend[again] == chain.bend[k]
            assert chain.height[again] == chain.height[k]
            assert chain.cell_piece[again - 1] == chain.cell_piece[k - 1]


def test_a_checkpoint_of_the_second_lap_lies_where_that_of_the_first_did() -> None:
    """One measured lap later: the same place on the ground, to a millimetre."""
    plain = laps(3)
    elm = [plain.station_m[gate.first_cut] for gate in plain.gates if gate.name == "elm"]
    lap_m = elm[2] - elm[1]
    assert elm[1] - elm[0] == pytest.approx(lap_m, abs=0.01), "the first comes from another place"
    strip = laps(3, checkpoints=(Mark("two", elm[1] - 20.0), Mark("three", elm[2] - 20.0)))
    two, three = strip.checkpoint_cuts()
    assert three > two
    assert strip.station_m[three] - strip.station_m[two] == pytest.approx(lap_m)
    np.testing.assert_allclose(strip.middle_m[three], strip.middle_m[two], atol=0.001)


def test_one_lap_is_the_course_without_laps() -> None:
    """`times = 1` lays nothing twice."""
    np.testing.assert_allclose(laps(1).left_m, build(FIELD, *SQUARE).left_m, atol=1e-9)


@pytest.mark.parametrize(
    ("third", "said"),
    [
        (63.0, r"left edge -3\.00 m ahead, .0\.00 m to the right"),
        (58.0, r"left edge \+2\.00 m ahead, .0\.00 m to the right"),
    ],
)
def test_a_lap_that_does_not_close_says_by_how_much_and_where_to(third: float, said: str) -> None:
    """The third leg runs back: 3 m more of it end 3 m behind where the lap begins."""
    wrong = [*SQUARE]
    wrong[4] = Piece("straight", "third", third)
    with pytest.raises(BadInput) as caught:
        build(FIELD, *wrong, laps=Laps("first", "ash", 2))
    text = str(caught.value)
    assert text.startswith("course.laps: ")
    assert f"{abs(third - 60):.1f} m away from where it begins" in text
    assert re.search(said, text)
    assert "must close within 0.5 m" in text


def test_a_lap_that_ends_aside_says_so() -> None:
    """The fourth leg runs back across: 2 m more of it end 2 m to the right."""
    wrong = [*SQUARE]
    wrong[6] = Piece("straight", "fourth", 42.0)
    with pytest.raises(BadInput, match=r".0\.00 m ahead, \+2\.00 m to the right"):
        build(FIELD, *wrong, laps=Laps("first", "ash", 2))


def test_a_lap_within_the_tolerance_is_closed_for_good() -> None:
    """0.4 m off is let pass, and the end is laid where the lap began."""
    nearly = [*SQUARE]
    nearly[4] = Piece("straight", "third", 60.4, climb_m=-3.0)
    strip = build(FIELD, *nearly, laps=Laps("first", "ash", 2))
    first, second = (gate for gate in strip.gates if gate.name == "elm")
    np.testing.assert_array_equal(strip.left_m[first.first_cut], strip.left_m[second.first_cut])
    end = next(gate.last_cut for gate in strip.gates if gate.name == "ash")
    assert strip.left_m[end].tolist() == [100.0, 10.0], "as laid: where the first leg began"
    assert strip.right_m[end].tolist() == [100.0, -10.0]


def test_a_lap_that_does_not_come_down_again_is_refused() -> None:
    """3 m up and never down: the second lap would begin with a step of 3 m."""
    wrong = [*SQUARE]
    wrong[4] = Piece("straight", "third", 60.0)
    with pytest.raises(BadInput, match=r"\+3.0 m above where it begins"):
        build(FIELD, *wrong, laps=Laps("first", "ash", 2))


SHORT_CUT = Piece("again", first="first", last="elm")


def test_a_short_loop_and_the_long_one_share_their_ground() -> None:
    """Once round, then the first side and its turn again, and another way home: cut by cut the same."""
    strip = build(FIELD, *SQUARE, SHORT_CUT, Piece("straight", "way home", 50.0))
    assert gate_names(strip)[-1] == ("elm", "turn", 2)
    first, again = (gate for gate in strip.gates if gate.name == "elm")
    for edge in (strip.left_m, strip.right_m):
        np.testing.assert_array_equal(
            edge[first.first_cut : first.last_cut + 1], edge[again.first_cut : again.last_cut + 1]
        )
    assert strip.section_names[strip.section[strip.finish_cut - 1]] == "way home"


def test_ground_that_is_run_again_must_have_been_reached_again() -> None:
    """The lap is not closed yet: from its third side nobody can go on with the first."""
    with pytest.raises(BadInput, match=r"course.pieces.7.*away from where it begins"):
        build(FIELD, *SQUARE[:5], SHORT_CUT)
    with pytest.raises(BadInput, match="did you mean 'first'"):
        build(FIELD, *SQUARE, Piece("again", first="frist", last="elm"))


def test_a_mark_on_every_lap() -> None:
    """One on each of three laps, a measured lap apart; a mark before the lap stays one."""
    marks = (Mark("post", 130.0, every_lap=True), Mark("gun post", 50.0, every_lap=True))
    strip = laps(3, checkpoints=marks)
    names = [mark.name for mark in strip.checkpoints]
    assert names == ["gun post", "post, lap 1", "post, lap 2", "post, lap 3"]
    places = strip.middle_m[strip.checkpoint_cuts()][1:]
    np.testing.assert_allclose(places - places[0], 0.0, atol=0.3)


def test_a_lap_from_an_unknown_piece_names_the_nearest() -> None:
    """`frist` was meant to be `first`."""
    with pytest.raises(BadInput, match="did you mean 'first'"):
        build(FIELD, *SQUARE, laps=Laps("frist", "ash", 2))


def test_a_lap_that_begins_with_the_course() -> None:
    """Laps from the very first piece: the lap begins on the start line, not on the apron."""
    pieces = [Piece("straight", "first", 60.0, 20.0), *SQUARE[1:]]
    strip = build(*pieces, laps=Laps("first", "ash", 2))
    np.testing.assert_allclose(strip.left_m[strip.finish_cut], [0.0, 10.0], atol=1e-9)
