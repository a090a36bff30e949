"""A turn rounded off: cuts before and after it, and the one arc that is run."""

from __future__ import annotations

import numpy as np
import pytest

from simrun.course.approach import APPROACH_CUTS_M, rounded_margins_m, with_approaches
from simrun.course.build import build_strip
from simrun.course.route import plain_margins, trace
from simrun.course.source import CourseSource, Piece
from simrun.course.string import cuts_of
from simrun.course.strip import Side, Strip

WIDTH_M = 12.0


def bend(
    angle_deg: float = 90.0,
    radius_m: float = 3.0,
    side: Side = Side.LEFT,
    legs_m: tuple[float, float] = (60.0, 60.0),
) -> Strip:
    pieces = (
        Piece("straight", length_m=legs_m[0], width_m=WIDTH_M),
        Piece("turn", "t", side=side, angle_deg=angle_deg, inside_radius_m=radius_m),
        Piece("straight", length_m=legs_m[1]),
    )
    return build_strip(CourseSource(WIDTH_M, 10.0, pieces))


def way(strip: Strip, apex_m: float, room_m: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The points of the rounded way, its margins, and which of its cuts belong to the turn."""
    gate = strip.gates[0]
    cuts, margins = rounded_margins_m(strip, gate, np.array([apex_m]), room_m)
    inner = strip.left_m if gate.inside == Side.LEFT else strip.right_m
    outer = strip.right_m if gate.inside == Side.LEFT else strip.left_m
    outward = (outer - inner)[cuts] / strip.width_m[cuts][:, None]
    index = np.arange(cuts.start, cuts.stop)
    covered = (index >= gate.first_cut) & (index <= gate.last_cut)
    return inner[cuts] + outward * margins[0][:, None], margins[0], covered


def circle_of(points: np.ndarray) -> tuple[float, float]:
    """Radius and largest miss of the circle through these points, by least squares."""
    x, y = points.T
    solved, *_ = np.linalg.lstsq(np.stack([x, y, np.ones_like(x)], 1), x * x + y * y, rcond=None)
    middle = solved[:2] / 2
    radius = float(np.sqrt(solved[2] + middle @ middle))
    return radius, float(np.abs(np.hypot(*(points - middle).T) - radius).max())


def test_cuts_are_laid_before_and_after_a_turn() -> None:
    """At the named distances from its two ends, on ground that stays what it was."""
    strip = bend()
    gate = strip.gates[0]
    before = np.hypot(*(strip.middle_m[gate.first_cut] - strip.middle_m).T)[: gate.first_cut]
    after = np.hypot(*(strip.middle_m[gate.last_cut] - strip.middle_m).T)[gate.last_cut + 1 :]
    wanted = np.array(APPROACH_CUTS_M)
    np.testing.assert_allclose(np.sort(before)[: len(wanted)], wanted, atol=1e-9)
    np.testing.assert_allclose(after[: len(wanted)], wanted, atol=1e-9)
    assert (strip.gate_of_cut[: gate.first_cut] == -1).all()
    assert (strip.gate_of_cut[gate.last_cut + 1 :] == -1).all()
    assert strip.length_m == pytest.approx(bend(legs_m=(60, 60)).length_m)


def test_a_short_leg_gets_what_has_room() -> None:
    """Of 3 m before a turn: cuts up to 2 m away, none nearer than half a metre to the leg's beginning."""
    strip = bend(legs_m=(3.0, 60.0))
    gate = strip.gates[0]
    leg = strip.left_m[: gate.first_cut + 1, 0]
    np.testing.assert_allclose(3.0 - leg[leg > 0.0], [2.0, 1.5, 1.0, 0.5, 0.0], atol=1e-9)


def test_turns_without_ground_between_them_are_left_alone() -> None:
    """Left into right with no straight between: no cut is laid in a turn."""
    pieces = (
        Piece("straight", length_m=60, width_m=WIDTH_M),
        Piece("turn", "a", side=Side.LEFT, angle_deg=60, inside_radius_m=4),
        Piece("turn", "b", side=Side.RIGHT, angle_deg=60, inside_radius_m=4),
        Piece("straight", length_m=60),
    )
    strip = build_strip(CourseSource(WIDTH_M, 10.0, pieces))
    first, second = strip.gates
    assert second.first_cut == first.last_cut
    assert second.last_cut - second.first_cut == first.last_cut - first.first_cut


def test_a_course_without_turns_is_not_touched() -> None:
    """Nothing to round off."""
    strip = build_strip(CourseSource(WIDTH_M, 10.0, (Piece("straight", length_m=80),)))
    assert with_approaches(strip) is strip


@pytest.mark.parametrize("side", [Side.LEFT, Side.RIGHT])
@pytest.mark.parametrize("angle_deg", [40.0, 90.0, 135.0])
@pytest.mark.parametrize("radius_m", [0.0, 3.0, 15.0])
@pytest.mark.parametrize("apex_m", [0.3, 2.0, 6.0])
def test_the_way_through_the_turn_is_one_circle(
    side: Side, angle_deg: float, radius_m: float, apex_m: float
) -> None:
    """Radius r + apex + q with q = room c / (1 - c), nearest to the inside in the middle of the turn,
    and there at the runner's own offset.

    With c = cos(angle / 2); computed
    """
    room = 1.2
    strip = bend(angle_deg, radius_m, side)
    points, margins, covered = way(strip, apex_m, room)
    cosine = np.cos(np.deg2rad(angle_deg) / 2)
    radius, miss = circle_of(points[covered])
    # The fan's inner cuts lie up to 0.03 % of the radius further out, so that its chords fit.
    tolerance = 0.0005 * (radius_m + WIDTH_M)
    assert miss < tolerance
    assert radius == pytest.approx(radius_m + apex_m + room * cosine / (1 - cosine), rel=0.01)
    assert margins.min() == pytest.approx(apex_m, abs=tolerance)
    turn = margins[covered]
    assert abs(int(turn.argmin()) - (len(turn) - 1) / 2) <= 1
    assert margins.max() <= apex_m + room * cosine + 1e-9
    np.testing.assert_allclose(margins, margins[::-1], atol=1e-6, err_msg="other in than out")


def test_the_way_meets_its_legs_without_a_kink() -> None:
    """Who comes along the leg runs straight on to the arc, on it, and straight on again.

    The leg's own way lies c times the room further out than the apex; the arc begins q sin(angle/2)
    before the turn, tangent to the leg; computed
    """
    strip, room = bend(90.0, 3.0), 1.2
    gate, cosine = strip.gates[0], np.cos(np.pi / 4)
    cuts, margins = rounded_margins_m(strip, gate, np.array([0.5]), room)
    left, right = plain_margins(strip.width_m)
    left[cuts] = margins[0]
    leg_m = 0.5 + room * cosine
    start = (0.0, WIDTH_M / 2 - leg_m)
    line = trace(cuts_of(strip.left_m, strip.right_m), left, right, start, strip.finish_cut)
    off = line.share * strip.width_m[line.cut]
    swing = room * cosine / (1 - cosine)
    begins = 60.0 - swing * np.sin(np.pi / 4)
    before = line.point_m[:, 0] < begins
    assert before.sum() >= 3
    # The arc is a chain of chords, before the turn of up to half a metre: their sagitta.
    sagitta = 0.5**2 / (8 * (3.0 + 0.5 + swing))
    np.testing.assert_allclose(off[before], leg_m, rtol=0, atol=sagitta)
    on_arc = (line.cut >= gate.first_cut - 1) & (line.cut <= gate.last_cut + 1)
    radius, miss = circle_of(line.point_m[on_arc])
    assert radius == pytest.approx(3.0 + 0.5 + swing, rel=0.002)
    assert miss < 0.0005 * (3.0 + WIDTH_M)
    assert off[-1] == pytest.approx(leg_m, abs=sagitta + 0.0005 * (3.0 + WIDTH_M))


def two_turns(straight_m: float, second: Side) -> Strip:
    pieces = (
        Piece("straight", length_m=60, width_m=WIDTH_M),
        Piece("turn", "a", side=Side.LEFT, angle_deg=60, inside_radius_m=4),
        Piece("straight", length_m=straight_m),
        Piece("turn", "b", side=second, angle_deg=60, inside_radius_m=4),
        Piece("straight", length_m=60),
    )
    return build_strip(CourseSource(WIDTH_M, 10.0, pieces))


@pytest.mark.parametrize("second", [Side.LEFT, Side.RIGHT])
def test_a_straight_between_two_turns_has_approaches_too(second: Side) -> None:
    """100 m of it: the same cuts after the first turn and before the second as on any other leg."""
    strip = two_turns(100.0, second)
    first, other = strip.gates
    between = strip.middle_m[first.last_cut : other.first_cut + 1]
    away = np.hypot(*(between - between[0]).T)
    wanted = [*APPROACH_CUTS_M, *(100.0 - np.array(APPROACH_CUTS_M))]
    for metres in wanted:
        assert np.abs(away - metres).min() < 1e-6, f"no cut {metres} m into the straight"


def test_a_straight_between_two_turns_to_the_same_side_is_no_bend() -> None:
    """No cell of it lies between two cuts of bends to the same side."""
    strip = two_turns(100.0, Side.LEFT)
    first, other = strip.gates
    side = strip.bend_side[first.last_cut : other.first_cut + 1]
    assert not ((side[:-1] == side[1:]) & (side[1:] != 0)).any()


def test_a_hairpin_keeps_its_offset_all_round() -> None:
    """At 180 degrees and more there is no corner to cut: c = 0."""
    _, margins, _ = way(bend(180.0, 5.0), 1.5, 1.2)
    np.testing.assert_allclose(margins, 1.5, atol=0.0005 * (5 + WIDTH_M))


def test_everybody_has_the_own_arc() -> None:
    """Rows of the answer are the apex offsets asked for; who is further out stays further out."""
    strip = bend()
    apex = np.array([0.3, 1.0, 4.0])
    cuts, margins = rounded_margins_m(strip, strip.gates[0], apex, 1.2)
    assert margins.shape == (3, cuts.stop - cuts.start)
    np.testing.assert_allclose(margins.min(axis=1), apex, atol=0.01)
    assert (np.diff(margins, axis=0) > 0).all()
    alone = rounded_margins_m(strip, strip.gates[0], apex[1:2], 1.2)[1]
    np.testing.assert_array_equal(margins[1], alone[0])


def test_left_and_right_are_treated_alike() -> None:
    """The margins of a turn and of its mirror image, to the last bit."""
    _, left, _ = way(bend(75.0, 2.0, Side.LEFT), 0.7, 1.2)
    _, right, _ = way(bend(75.0, 2.0, Side.RIGHT), 0.7, 1.2)
    np.testing.assert_array_equal(left, right)
