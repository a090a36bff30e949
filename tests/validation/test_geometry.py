"""The ground against the tape and the wheel (checks, section A)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from simrun.course.build import build_strip
from simrun.course.route import line_through, shortest_line
from simrun.course.source import CourseSource, Piece
from simrun.course.start import StartSpec, bow_m, build_start_line, paint_m
from simrun.course.strip import MEASURING_MARGIN_M, Side, Strip
from simrun.sources import figure

MILLIMETRE = 0.001


def course(*pieces: Piece, width_m: float) -> Strip:
    return build_strip(CourseSource(width_m, 10.0, pieces))


def track(width_m: float) -> Strip:
    """Two straights and two half circles, the inner edge that of a standard track."""
    straight = Piece("straight", length_m=84.39, width_m=width_m)
    bend = Piece("turn", side=Side.LEFT, angle_deg=180, inside_radius_m=36.50)
    return course(straight, bend, straight, bend, width_m=width_m)


def lap_m(strip: Strip, off_m: float) -> float:
    """The way round at a steady distance from the inner edge, cut by cut."""
    across = (strip.right_m - strip.left_m) / strip.width_m[:, None]
    path = (strip.left_m + across * off_m)[1 : strip.finish_cut + 1]
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


def lane_m(off_m: float) -> float:
    """Two straights and a circle `off_m` outside the inner edge, on paper."""
    return 2 * 84.39 + 2 * math.pi * (36.50 + off_m)


def test_inner_edge_of_the_standard_track() -> None:
    """Is the inner edge of the drawn track as long as the book says?

    IAAF Track and Field Facilities Manual 2008: 398.116 m; seen in quotation.
    """
    assert lap_m(track(8.0), 0.0) == pytest.approx(lane_m(0.0), abs=MILLIMETRE)
    assert lane_m(0.0) == pytest.approx(398.116, abs=MILLIMETRE / 2), "all digits printed"


@pytest.mark.parametrize(
    ("lane", "printed_m"), [(1, 400.001), (2, 407.038), (3, 414.704), (4, 422.369)]
)
def test_measured_lanes_of_the_standard_track(lane: int, printed_m: float) -> None:
    """How long are lanes 1 to 4, measured 0.30 m (lane 1) and 0.20 m out, lanes 1.22 m wide?

    IAAF Track and Field Facilities Manual 2008; seen in quotation.
    """
    off_m = 0.30 if lane == 1 else (lane - 1) * 1.22 + 0.20
    assert lap_m(track(8.0), off_m) == pytest.approx(lane_m(off_m), abs=MILLIMETRE)
    assert lane_m(off_m) == pytest.approx(printed_m, abs=MILLIMETRE / 2), "all digits printed"


@pytest.mark.parametrize(("lane", "printed_m"), [(2, 7.04), (3, 14.70), (4, 22.37)])
def test_staggers(lane: int, printed_m: float) -> None:
    """By how much are lanes 2 to 4 longer than lane 1? For 200 m, one bend, it is half.

    IAAF Track and Field Facilities Manual 2008, printed to two places; memory.
    """
    off_m = (lane - 1) * 1.22 + 0.20
    strip = track(8.0)
    stagger = lap_m(strip, off_m) - lap_m(strip, 0.30)
    assert f"{stagger:.2f}" == f"{printed_m:.2f}"
    half = course(
        Piece("turn", side=Side.LEFT, angle_deg=180, inside_radius_m=36.50),
        Piece("straight", length_m=84.39),
        width_m=8.0,
    )
    half_stagger = lap_m(half, off_m) - lap_m(half, 0.30)
    assert half_stagger == pytest.approx(math.pi * (off_m - 0.30), abs=MILLIMETRE)
    assert half_stagger == pytest.approx(stagger / 2, abs=MILLIMETRE)


LOOPS = {
    "square": [(50, 90)] * 4,
    "triangle": [(60, 120)] * 3,
    "oblong": [(70, 90), (20, 90), (70, 90), (20, 90)],
    "uneven": [(40, 90), (25, 60), (50, 120), (30, 90)],
    "twelve corners": [(10, 30)] * 12,
}


@pytest.mark.parametrize("loop", LOOPS)
@pytest.mark.parametrize("out_m", [0.3, 1.0, 2.5, 5.0])
def test_a_line_further_out_grows_by_two_pi_d(out_m: float, loop: str) -> None:
    """Does any convex loop grow by 2 pi d at the distance d?

    computed
    """
    corners = LOOPS[loop]
    pieces = []
    for length, angle in corners:
        pieces.append(Piece("straight", length_m=length, width_m=8.0))
        pieces.append(Piece("turn", side=Side.LEFT, angle_deg=angle, inside_radius_m=6.0))
    strip = course(*pieces, width_m=8.0)
    grown = lap_m(strip, out_m) - lap_m(strip, 0.0)
    assert grown == pytest.approx(2 * math.pi * out_m, abs=MILLIMETRE)


@pytest.mark.parametrize("radius_m", [0.0, 2.0, 10.0])
@pytest.mark.parametrize(("width_m", "extra_m"), [(3, 3.770), (5, 6.912), (10, 14.765)])
def test_outside_minus_inside_of_a_right_angle(
    width_m: float, extra_m: float, radius_m: float
) -> None:
    """What does the outside of a 90 degree bend cost, both lines 0.30 m off their edge?

    (pi/2)(w - 0.60), whatever the inside radius; computed
    """
    bend = Piece("turn", "bend", side=Side.LEFT, angle_deg=90, inside_radius_m=radius_m)
    strip = course(
        Piece("straight", length_m=60, width_m=width_m),
        bend,
        Piece("straight", length_m=60),
        width_m=width_m,
    )
    gate = strip.gates[0]
    covered = slice(gate.first_cut, gate.last_cut + 1)
    across = (strip.right_m - strip.left_m)[covered] / width_m

    def arc_m(off_m: float) -> float:
        path = strip.left_m[covered] + across * off_m
        return float(np.hypot(*np.diff(path, axis=0).T).sum())

    assert arc_m(width_m - 0.3) - arc_m(0.3) == pytest.approx(extra_m, abs=MILLIMETRE)


def test_left_bend_then_equal_right_bend() -> None:
    """Is any constant offset through a left bend and an equal right bend as long as the centre?

    computed
    """
    strip = course(
        Piece("straight", length_m=30, width_m=6),
        Piece("turn", side=Side.LEFT, angle_deg=60, inside_radius_m=10),
        Piece("turn", side=Side.RIGHT, angle_deg=60, inside_radius_m=10),
        Piece("straight", length_m=30),
        width_m=6,
    )
    centre = lap_m(strip, 3.0)
    for off_m in (0.3, 1.5, 5.7):
        assert lap_m(strip, off_m) == pytest.approx(centre, abs=MILLIMETRE)


def funnel(margin_m: float) -> Strip:
    """The 102 m line that narrows evenly to 25 m over 610 m; the margin added at both edges."""
    return course(
        Piece("narrowing", "throat", length_m=610.0, width_m=25.0 + 2 * margin_m),
        width_m=102.0 + 2 * margin_m,
    )


def test_extra_metres_of_the_end_box_to_the_near_edge() -> None:
    """How much further is the end of a 102 m line from a throat 25 m wide, 610 m ahead?

    1.214 m; line of a 2008 US college conference course, seen; extra computed
    """
    strip = funnel(0.30)
    end, middle = (0.0, 51.0), (0.0, 0.0)
    extra = shortest_line(strip, end).length_m - shortest_line(strip, middle).length_m
    assert extra == pytest.approx(1.214, abs=MILLIMETRE)
    assert extra == pytest.approx(math.hypot(610, 51 - 12.5) - 610, abs=1e-6)


def to_a_point() -> Strip:
    """102 m to 0.60 m over 610 m: with 0.30 m off both edges all must pass one point."""
    return course(
        Piece("narrowing", "throat", length_m=610.0, width_m=2 * 0.30), width_m=102.0 + 2 * 0.30
    )


def test_extra_metres_of_the_end_box_to_the_centre() -> None:
    """And to the middle of the throat, where everybody aims at one point?

    2.128 m; computed
    """
    strip = to_a_point()
    spec = StartSpec(102.0, "straight", None, 2.55, 40, 5)
    for end in paint_m(spec, np.array([-51.0, 51.0])).tolist():
        extra = shortest_line(strip, tuple(end)).length_m - shortest_line(strip).length_m
        assert extra == pytest.approx(2.128, abs=MILLIMETRE / 2)
        assert extra == pytest.approx(math.hypot(610, 51) - 610, abs=1e-9)


def test_arc_start_leaves_no_extra_metres() -> None:
    """Is every box of an arc as far from the common point, and how much does the line bow?

    bow = D - sqrt(D^2 - (W/2)^2) = 2.136 m for 102 m about a point at 610 m; computed
    """
    spec = StartSpec(102.0, "arc", 610.0, 2.55, 40, 5)
    middles = paint_m(spec, (np.arange(40) + 0.5 - 20) * 2.55).tolist()
    strip = to_a_point()
    lengths = [shortest_line(strip, tuple(middle)).length_m for middle in middles]
    np.testing.assert_allclose(lengths, 610.0, rtol=0, atol=1e-9)
    ends = np.array([box.left_m for box in build_start_line(spec).boxes])
    np.testing.assert_allclose(np.hypot(*(ends - [610.0, 0.0]).T), 610.0, rtol=0, atol=1e-9)
    assert bow_m(spec) == pytest.approx(2.136, abs=MILLIMETRE / 2)
    assert bow_m(StartSpec(102.0, "straight", None, 2.55, 40, 5)) == 0.0


@pytest.mark.parametrize(
    ("key", "boxes", "box_m", "printed_m", "digits"),
    [("packet", 30, 5 * 0.3048, 45.7, 1), ("requirement", 40, 5 * 0.50, 100.0, 1)],
)
def test_boxes_side_by_side(
    key: str, boxes: int, box_m: float, printed_m: float, digits: int
) -> None:
    """How wide is a line of so many boxes?

    30 boxes of 5 ft: 1999 US invitational packet, seen. 0.50 m for each of 5 front-row runners of 40
    teams: NCAA championship requirement as quoted by a host page, seen second-hand.
    """
    line = build_start_line(StartSpec(120.0, "straight", None, box_m, boxes, 3))
    whole = line.boxes[0].left_m[1] - line.boxes[-1].right_m[1]
    assert round(float(whole), digits) == printed_m


def test_s_bends_are_a_stretched_string() -> None:
    """Is the shortest way through an S a string pulled tight 0.30 m off both corners?

    USATF course measurement procedures, seen; the tangent length computed by hand
    """
    width = 10.0
    strip = course(
        Piece("straight", length_m=40, width_m=width),
        Piece("turn", side=Side.LEFT, angle_deg=90, inside_radius_m=0.0),
        Piece("straight", length_m=50),
        Piece("turn", side=Side.RIGHT, angle_deg=90, inside_radius_m=0.0),
        Piece("straight", length_m=40),
        width_m=width,
    )
    # Corners: left at (40, 5); the leg runs up x in [40, 50], y in [5, 55]; right one at (50, 55).
    first, second = np.array([40.0, 5.0]), np.array([50.0, 55.0])
    start = np.array([0.0, 0.0])
    r = 0.30
    # A circle of 0.30 m about each corner: tangent in, arc, inner tangent, arc, tangent out.
    to_first = np.hypot(*(first - start))
    tangent_in = math.sqrt(to_first**2 - r**2)
    heading_in = math.atan2(*(first - start)[::-1]) - math.asin(r / to_first)
    between = np.hypot(*(second - first))
    inner = math.sqrt(between**2 - (2 * r) ** 2)
    heading_between = math.atan2(*(second - first)[::-1]) + math.asin(2 * r / between)
    arc_one = heading_between - heading_in
    arc_two = heading_between - 0.0
    tangent_out = (50.0 + 40.0) - 50.0
    by_hand = tangent_in + inner + tangent_out + r * (arc_one + arc_two)
    assert strip.length_m == pytest.approx(by_hand, abs=MILLIMETRE)


@pytest.mark.parametrize("off_m", [0.3, 1.0, 3.3, 7.0])
def test_a_turn_taken_wide_is_the_tangent_its_arc_and_the_tangent(off_m: float) -> None:
    """How long is the way that takes a right angle so many metres off the inside and then runs on?

    The tangent from the start to the circle of that radius, the arc, and straight on; computed
    """
    strip = course(
        Piece("straight", length_m=80, width_m=10),
        Piece("turn", "bend", side=Side.LEFT, angle_deg=90, inside_radius_m=5.0),
        Piece("straight", length_m=80),
        width_m=10,
    )
    radius, away = 5.0 + off_m, math.hypot(80.0, 10.0)  # the circle's middle lies at (80, 10)
    tangent = math.sqrt(away**2 - radius**2)
    heading = math.atan2(10.0, 80.0) - math.asin(radius / away)
    by_hand = tangent + radius * (math.pi / 2 - heading) + 80.0
    if heading < 0:  # the circle hangs below the start: the string meets its lowest point first
        by_hand = math.hypot(80.0, radius - 10.0) + radius * math.pi / 2 + 80.0
    assert line_through(strip, {"bend": off_m}).length_m == pytest.approx(by_hand, abs=MILLIMETRE)


def test_the_margin_of_the_wheel() -> None:
    """How far off every corner does the measured line run?

    0.30 m; USATF course measurement procedures, seen
    """
    assert MEASURING_MARGIN_M == figure("geometry.measuring_margin_m").value == 0.30
